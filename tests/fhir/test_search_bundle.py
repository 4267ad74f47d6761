"""Is what was found told with its place and part, and a part marked as one?"""

import json
from typing import Any

import msgspec
import pytest

from service.fhir.bundle import observations_of
from service.fhir.encode import bytes_of
from service.fhir.search_bundle import history_bundle, part_of, search_bundle
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


@pytest.mark.parametrize(
    ("control", "there", "absent"),
    [
        (Control(count=1, elements=("value",)), {"status", "code", "valueQuantity"}, {"text"}),
        (Control(count=1, summary="text"), {"text", "status", "code"}, {"subject", "category"}),
        (Control(count=1, summary="data"), {"subject", "category", "code"}, {"text"}),
        (Control(count=1, summary="true"), {"subject", "code", "status"}, {"text", "category"}),
    ],
)
def test_a_part_has_what_was_asked_for_and_what_is_required_and_says_so(
    control: Control, there: set[str], absent: set[str]
) -> None:
    measured = next(one for one in SEEN if one.value_quantity is not None)
    part = read(part_of(measured, control))
    assert {"resourceType", "id", "meta", *there} <= part.keys()
    assert not absent & part.keys()
    assert part["meta"]["tag"][0]["code"] == "SUBSETTED"
    assert part["meta"]["versionId"] == measured.meta.version_id


def test_a_part_keeps_the_digits_of_its_decimals() -> None:
    measured = next(one for one in SEEN if one.id and one.id.endswith("stage-timed-stand"))
    part = part_of(measured, Control(count=1, elements=("value",)))
    assert b'"value":48.20' in msgspec.json.encode(part)


def test_versions_are_listed_with_what_was_done_and_what_was_answered() -> None:
    told = read(history_bundle(BASE, SEEN[:1], total=1, links=[("self", BASE)]))
    (entry,) = told["entry"]
    assert told["type"] == "history"
    assert entry["request"] == {"method": "POST", "url": "Observation"}
    assert entry["response"]["status"] == "201"
    assert entry["response"]["etag"] == 'W/"1"'


def test_both_bundles_are_what_the_standard_has() -> None:
    assert official_faults(bundle(ignored=("encounter",))) == []
    assert official_faults(read(history_bundle(BASE, SEEN[:2], total=2, links=[]))) == []
