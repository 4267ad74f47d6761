"""Is a part of a resource what was asked for, with what is required, and marked as a part?"""

import json
from typing import Any

import msgspec
import pytest

from service.domain.problem import Unreadable
from service.fhir.bundle import observations_of
from service.fhir.encode import bytes_of
from service.fhir.search_control import Control
from service.fhir.search_part import part_of, part_told, part_wanted
from tests.fhir.answers import FULL, SITE, answer_to
from tests.fhir.validators import form_faults

SEEN = observations_of(SITE, answer_to(FULL))


def read(resource: Any) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(bytes_of(resource))
    return told


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


@pytest.mark.parametrize("summary", ["true", "text", "data"])
def test_a_part_has_the_form_of_its_resource(summary: str) -> None:
    for one in SEEN:
        assert form_faults(bytes_of(part_of(one, Control(count=1, summary=summary)))) == []


def test_nothing_asked_for_is_the_whole() -> None:
    control = part_wanted("Observation", [("_format", "json"), ("flavour", "sweet")])
    assert part_of(SEEN[0], control) is SEEN[0]
    assert part_told(control) == []
    assert part_of(SEEN[0], part_wanted("Observation", [("_summary", "false")])) is SEEN[0]


def test_what_is_asked_for_is_told_again() -> None:
    said = [("_summary", "data"), ("_elements", "code,Observation.value")]
    told = part_told(part_wanted("Observation", said))
    assert told == [("_summary", "data"), ("_elements", "code,value")]


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ([("_summary", "count")], "_summary"),
        ([("_summary", "much")], "_summary"),
        ([("_summary", "")], "_summary"),
        ([("_summary", "true"), ("_summary", "text")], "_summary"),
        ([("_elements", "activity")], "_elements"),
    ],
)
def test_what_cannot_be_asked_of_a_read_is_refused_by_name(
    said: list[tuple[str, str]], name: str
) -> None:
    with pytest.raises(Unreadable) as caught:
        part_wanted("Observation", said)
    assert [fault.path for fault in caught.value.faults] == [f"/http/{name}"]
