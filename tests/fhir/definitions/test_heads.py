"""Does every definition say what it is, in words and for machines?"""

import re

from service.fhir.definitions.heads import head, pascal
from tests.fhir.answers import BOOK, SITE
from tests.fhir.definitions.published import PLAIN

NAME = re.compile(r"[A-Z]([A-Za-z0-9_]){0,254}")


def test_every_definition_can_be_cited_and_read() -> None:
    for place, one in PLAIN.items():
        assert one["url"] == f"{SITE.canonical}/{place}"
        assert one["version"] == BOOK.ref.version
        assert NAME.fullmatch(one["name"]), place
        assert one["status"] == "active"
        title = one.get("title", "" if one["resourceType"] == "SearchParameter" else None)
        assert title is not None and one["description"]
        assert title in re.sub("&[a-z]+;", "&", one["text"]["div"])


def test_no_two_definitions_of_a_type_have_one_name() -> None:
    told = [(place.partition("/")[0], one["name"]) for place, one in PLAIN.items()]
    assert len(told) == len(set(told))


def test_a_name_for_machines_begins_with_a_letter() -> None:
    assert pascal("stand_aid") == "StandAid"
    assert pascal("bedside-mobility-screen") == "BedsideMobilityScreen"
    assert pascal("4m.walk") == "N4mWalk"


def test_markup_in_words_is_not_taken_for_markup() -> None:
    made = head(SITE, "ValueSet", "a", "A < B", "C & D")
    assert "A &lt; B" in made["text"].div
    assert "C &amp; D" in made["text"].div
    assert made["title"] == "A < B"
