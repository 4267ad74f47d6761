"""Is what was found told with its place and part, and a part marked as one?"""

import json
from typing import Any

from service.fhir.bundle import observations_of
from service.fhir.encode import bytes_of
from service.fhir.search_bundle import history_bundle, search_bundle
from service.fhir.search_control import Control
from tests.fhir.answers import BASE, FULL, SITE, answer_to
from tests.fhir.validators import official_faults

ANSWER = answer_to(FULL)
SEEN = observations_of(SITE, ANSWER)
WHOLE = Control(count=50)


def read(resource: Any) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(bytes_of(resource))
    return told


def bundle(control: Control = WHOLE, **more: Any) -> dict[str, Any]:
    asked: dict[str, Any] = {"total": 3, "links": [("self", f"{BASE}/Observation?_count=50")]}
    return read(search_bundle(BASE, control, SEEN[:2], SEEN[2:3], **{**asked, **more}))


def test_matches_come_first_then_what_was_brought_along_then_what_was_left_out() -> None:
    told = bundle(ignored=("encounter",))
    assert [entry["search"]["mode"] for entry in told["entry"]] == [
        "match", "match", "include", "outcome",
    ]  # fmt: skip
    first = told["entry"][0]
    assert first["fullUrl"] == f"{BASE}/Observation/{SEEN[0].id}"
    assert first["resource"] == read(SEEN[0])
    outcome = told["entry"][-1]["resource"]
    assert (outcome["resourceType"], outcome["issue"][0]["severity"]) == (
        "OperationOutcome",
        "warning",
    )
    assert "encounter" in outcome["issue"][0]["details"]["text"]


def test_the_total_is_told_even_where_it_is_nothing() -> None:
    empty = read(search_bundle(BASE, WHOLE, (), (), total=0, links=[("self", BASE)]))
    assert empty["total"] == 0
    assert empty["type"] == "searchset"
    assert "entry" not in empty
    assert "total" not in bundle(total=None)


def test_a_count_alone_has_no_entries() -> None:
    control = Control(count=0, only_count=True)
    told = read(search_bundle(BASE, control, (), (), total=7, links=[], ignored=("x",)))
    assert "entry" not in told


def test_named_elements_are_those_of_the_matches_and_not_of_what_is_brought_along() -> None:
    match, _, beside = bundle(Control(count=2, elements=("value",)))["entry"]
    assert match["resource"]["meta"]["tag"][0]["code"] == "SUBSETTED"
    assert "subject" not in match["resource"]
    assert beside["resource"] == read(SEEN[2])
    summed = bundle(Control(count=2, summary="true"))["entry"][2]
    assert summed["resource"]["meta"]["tag"][0]["code"] == "SUBSETTED"


def test_versions_are_listed_in_part_where_that_is_asked_for() -> None:
    control = Control(count=1, elements=("status",))
    told = read(history_bundle(BASE, control, SEEN[:1], total=1, links=[]))
    assert told["entry"][0]["resource"]["meta"]["tag"][0]["code"] == "SUBSETTED"
    assert "subject" not in told["entry"][0]["resource"]
    assert told["entry"][0]["response"]["etag"] == 'W/"1"'


def test_versions_are_listed_with_what_was_done_and_what_was_answered() -> None:
    told = read(history_bundle(BASE, WHOLE, SEEN[:1], total=1, links=[("self", BASE)]))
    (entry,) = told["entry"]
    assert told["type"] == "history"
    assert entry["request"] == {"method": "POST", "url": "Observation"}
    assert entry["response"]["status"] == "201"
    assert entry["response"]["etag"] == 'W/"1"'


def test_both_bundles_are_what_the_standard_has() -> None:
    assert official_faults(bundle(ignored=("encounter",))) == []
    assert official_faults(read(history_bundle(BASE, WHOLE, SEEN[:2], total=2, links=[]))) == []
