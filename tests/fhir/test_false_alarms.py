"""Does each false alarm still ring, for a resource that is right, and does nothing else?"""

import json
from typing import Any

import pytest

from tests.fhir.false_alarms import ALARMS, Alarm, is_known
from tests.fhir.validators import form_faults, official, official_faults, parse_faults, told

Each = pytest.mark.parametrize("alarm", ALARMS, ids=[f"{one.code} {one.path}" for one in ALARMS])


@Each
def test_an_alarm_still_rings(alarm: Alarm) -> None:
    issues = official().validate_resource(alarm.rings).issues
    assert [one for one in issues if alarm.raised(one)], (
        f"{alarm.code} is no longer raised: take it off the list."
    )


@Each
def test_what_sets_it_off_is_right_by_everybody_else(alarm: Alarm) -> None:
    raw = json.dumps(alarm.rings).encode()
    issues = official().validate_resource(alarm.rings).issues

    assert [told(one) for one in issues if not is_known(one)] == []
    assert form_faults(raw) == []
    assert parse_faults(raw) == []


def _with(alarm: str, **changed: Any) -> dict[str, Any]:
    (found,) = (one for one in ALARMS if one.code == alarm)
    return {**found.rings, **changed}


@pytest.mark.parametrize(
    ("faulty", "said"),
    [
        (_with("datatype.unknown-field", item=[{"linkId": "a", "unheardOf": 1}]), "unheardOf"),
        (
            _with(
                "datatype.unknown-field",
                item=[{"linkId": "a", "item": [{"linkId": "b", "item": [{"linkd": "c"}]}]}],
            ),
            "linkd",
        ),
        (
            _with("terminology.code-system", status="completed", item=[
                {"linkId": "a", "answer": [{"valueCoding": {
                    "system": "http://hl7.org/fhir/device-status", "code": "ready"}}]}]),
            "device-status",
        ),
        (
            _with("profile.unknown", meta={"profile": ["https://elsewhere.example/a"]}),
            "elsewhere",
        ),
        (_with("invariant.dom-6", text=None), "dom-6"),
    ],
)  # fmt: skip
def test_a_fault_that_resembles_one_is_still_told(faulty: dict[str, Any], said: str) -> None:
    kept = {name: value for name, value in faulty.items() if value is not None}
    found = official_faults(kept)
    assert any(said in fault for fault in found), found
