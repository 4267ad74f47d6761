"""Is every search parameter one that the standard has for its type, and can it be answered?"""

import json
import tarfile
from functools import cache
from typing import Any

import pytest
from msgspec.structs import replace

from service.fhir.questionnaire_response import response_of
from service.fhir.search_parameters import (
    DEFINITIONS,
    INCLUDES,
    PARAMETERS,
    REV_INCLUDES,
)
from tests.fhir.answers import FULL, SITE, answer_to
from tests.fhir.validators import definitions

LISTED = [(kind, name) for kind, names in PARAMETERS.items() for name in names]
WHERE = {"_id", "patient", "subject", "target"}
ALL = ("Resource", "DomainResource")


@cache
def official() -> dict[str, Any]:
    with tarfile.open(definitions()) as package:
        names = [name for name in package.getnames() if "/SearchParameter-" in name]
        read = [json.load(file) for name in names if (file := package.extractfile(name))]
    return {one["url"]: one for one in read}


WIDER = ("Provenance", "patient")
"""The standard's finds what names the Patient itself as its target, and nothing of ours does."""


@pytest.mark.parametrize(("kind", "name"), [one for one in LISTED if one != WIDER])
def test_each_parameter_is_the_one_that_the_standard_has_for_the_type(kind: str, name: str) -> None:
    ours = PARAMETERS[kind][name]
    known = official()[DEFINITIONS + ours.definition]
    assert (known["code"], known["type"]) == (name, ours.kind)
    assert kind in known["base"] or known["base"][0] in ALL


@pytest.mark.parametrize(("kind", "name"), LISTED)
def test_each_parameter_is_answered_by_the_resource_or_says_where_to_look(
    kind: str, name: str
) -> None:
    ours = PARAMETERS[kind][name]
    where = name in WHERE or (kind, name) == ("Patient", "identifier")
    assert (ours.codes is None and ours.span is None) == where
    assert (ours.span is not None) == (ours.kind == "date")
    assert not ours.order or ours.span is not None


def test_what_finds_something_else_than_the_standards_does_not_say_it_is_that() -> None:
    known = official()[f"{DEFINITIONS}Provenance-patient"]
    assert known["expression"] == "Provenance.target.where(resolve() is Patient)"
    assert [one for one in LISTED if not PARAMETERS[one[0]][one[1]].definition] == [WIDER]


def test_what_may_be_brought_along_belongs_to_a_parameter_of_its_type() -> None:
    for kind, listed in (*INCLUDES.items(), *REV_INCLUDES.items()):
        assert kind in PARAMETERS
        for one in listed:
            source, name = one.split(":")
            assert PARAMETERS[source][name].kind == "reference"


@pytest.mark.parametrize(
    ("source", "sent"),
    [
        ("bedside-4711", [("", "bedside-4711")]),
        ("urn:oid:2.999.20|A|7", [("urn:oid:2.999.20", "A|7")]),
        (None, []),
    ],
)
def test_a_response_is_found_by_our_identifier_and_by_its_senders(
    source: str | None, sent: list[tuple[str, str]]
) -> None:
    record = answer_to(replace(FULL, source_id=source)).screen
    codes = PARAMETERS["QuestionnaireResponse"]["identifier"].codes
    assert codes is not None

    ours = (SITE.identifier_system("screen"), record.id)
    assert codes(response_of(SITE, record)) == (ours, *sent)
