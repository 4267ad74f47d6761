"""What do the validators of others say of every definition that is published?"""

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest

from tests.fhir.definitions.definition_alarms import ALARMS, is_known
from tests.fhir.definitions.loaded import issues, loaded
from tests.fhir.definitions.published import PLAIN, RAW, Json
from tests.fhir.false_alarms import Alarm
from tests.fhir.lifted import parts
from tests.fhir.own_checks import resource_faults
from tests.fhir.validators import form_faults, official, parse_faults, read, told


def official_faults(definition: Json) -> list[str]:
    """A form is looked at item by item too: deep items are else passed over."""
    whole, *lifted = parts(definition)
    found = _said(whole)
    # the stubs in the lifted ones all have one link id
    return found + [fault for part in lifted for fault in _said(part) if "que-2" not in fault]


def _said(definition: Json) -> list[str]:
    return [told(one) for one in issues(definition, official()) if not is_known(one)]


@pytest.mark.parametrize("place", PLAIN)
def test_a_definition_has_no_fault_that_anybody_can_find(place: str) -> None:
    raw = RAW[place]
    assert resource_faults(read(raw)) == []
    assert form_faults(raw) == []
    assert parse_faults(raw) == []
    assert official_faults(PLAIN[place]) == []


def put(name: str, value: Any) -> Callable[[Json], None]:
    def change(definition: Json) -> None:
        definition[name] = value

    return change


def without(name: str) -> Callable[[Json], None]:
    def change(definition: Json) -> None:
        del definition[name]

    return change


def deep(definition: Json) -> None:
    definition["item"][0]["item"][0]["item"][0]["tpye"] = "string"


def no_option(definition: Json) -> None:
    for one in definition["item"]:
        if one["linkId"] == "setting":
            one["type"] = "group"


def same_link(definition: Json) -> None:
    definition["item"][0]["item"][0]["linkId"] = definition["item"][0]["linkId"]


def no_context(definition: Json) -> None:
    definition["snapshot"]["element"][0]["path"] = "Observation.code"


def twice(definition: Json) -> None:
    definition["concept"].append(definition["concept"][0])


@pytest.mark.parametrize(
    ("place", "change", "said"),
    [
        ("Questionnaire/bedside-mobility-screen", deep, "tpye"),
        ("Questionnaire/bedside-mobility-screen", no_option, "que-"),
        ("Questionnaire/bedside-mobility-screen", same_link, "que-2"),
        ("StructureDefinition/stanchion-panel", without("baseDefinition"), "sdf-4"),
        ("StructureDefinition/stanchion-panel", put("kind", "thing"), "kind"),
        ("StructureDefinition/stanchion-panel", no_context, "sdf-"),
        ("CodeSystem/method", put("content", "whole"), "content"),
        ("CodeSystem/method", twice, "csd-1"),
        ("ValueSet/method", put("status", "done"), "status"),
        ("ConceptMap/method-to-snomed", put("group", [{"source": "a"}]), "element"),
        ("PlanDefinition/safe-patient-handling", put("goal", [{}]), "description"),
        ("ActivityDefinition/unaided", put("kind", "Wish"), "kind"),
        ("OperationDefinition/screen", without("code"), "code"),
    ],
)
def test_a_broken_definition_is_seen(place: str, change: Callable[[Json], None], said: str) -> None:
    broken = copy.deepcopy(PLAIN[place])
    change(broken)
    found = [*official_faults(broken), *parse_faults(json.dumps(broken).encode())]
    assert any(said in fault for fault in found), found


@pytest.mark.parametrize("alarm", ALARMS, ids=lambda one: f"{one.code} {one.path}")
def test_an_alarm_that_is_not_believed_still_rings(alarm: Alarm) -> None:
    validator = loaded() if alarm.code.startswith("profile.") else official()
    found = issues(alarm.rings, validator)
    assert [one for one in found if alarm.raised(one)], "Take it off the list."
