"""Are vital signs told once, in the form everybody reads, and only where they were measured?"""

import json
from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.readiness import VitalSigns
from service.domain.screen import Screen
from service.fhir.codes import NOT_KNOWN, UCUM
from service.fhir.encode import bytes_of
from service.fhir.observation import LONGEST_FINDING, frame_of
from service.fhir.resources import Observation
from service.fhir.vital_signs import nested_findings, size_findings, vital_findings
from tests.fhir.answers import BARE, FULL, SCREEN_ID, SITE, answer_to
from tests.fhir.vital_profiles import vital_faults


def found(screen: Screen) -> dict[str, Observation]:
    frame = frame_of(SITE, answer_to(screen).screen)
    told = [*vital_findings(frame), *nested_findings(frame), *size_findings(frame)]
    return {str(one.id).removeprefix(f"{SCREEN_ID}-"): one for one in told}


FOUND = found(FULL)
MINUTES = {
    "code": {"text": "Minutes"},
    "valueQuantity": {"value": 1, "unit": "min", "system": UCUM, "code": "min"},
}


def codes(one: Observation) -> list[str]:
    return [coding.code for coding in one.code.coding]


def with_signs(**signs: Any) -> dict[str, Observation]:
    return found(replace(BARE, readiness=replace(BARE.readiness, vital_signs=VitalSigns(**signs))))


def test_nothing_is_told_that_was_not_measured() -> None:
    assert found(BARE) == {}


@pytest.mark.parametrize(
    ("finding", "told", "value", "unit"),
    [
        ("vital-heart-rate", ["heart_rate_per_min", "8867-4"], 82, "/min"),
        ("vital-spo2", ["spo2_percent", "2708-6", "59408-5"], Decimal("96.0"), "%"),
        ("vital-respiratory-rate", ["respiratory_rate_per_min", "9279-1"], 16, "/min"),
        ("vital-temperature", ["temperature_celsius", "8310-5"], Decimal("36.80"), "Cel"),
        ("vital-fio2", ["fio2_fraction"], Decimal("0.21"), "1"),
        ("vital-mass", ["mass_kg", "29463-7"], Decimal("72.50"), "kg"),
        ("vital-stature", ["stature_cm", "8302-2"], 162, "cm"),
        ("vital-body-mass-index", ["body_mass_index", "39156-5"], Decimal("27.6"), "kg/m2"),
    ],
)
def test_a_value_has_its_codes_its_digits_and_its_unit(
    finding: str, told: list[str], value: Decimal | int, unit: str
) -> None:
    made = FOUND[finding]
    assert codes(made) == told
    assert made.value_quantity is not None
    assert str(made.value_quantity.value) == str(value)
    assert made.value_quantity.code == unit


def test_every_one_is_a_vital_sign_under_its_profile_and_fits_into_an_id() -> None:
    for finding, made in FOUND.items():
        assert [one.coding[0].code for one in made.category] == ["vital-signs"]
        assert made.meta.profile == (SITE.profile("vital-sign"),)
        assert len(finding) <= LONGEST_FINDING


def test_the_blood_pressure_is_a_panel_with_its_parts() -> None:
    made = FOUND["vital-blood-pressure"]
    assert codes(made) == ["blood_pressure", "85354-9"]
    parts = {
        one.code.coding[-1].code: one.value_quantity and one.value_quantity.value
        for one in made.component
    }
    assert parts == {"8480-6": 128, "8462-4": 74, "mean_arterial_mmhg": 92}
    assert made.value_quantity is None
    assert made.data_absent_reason is None


def test_a_part_of_the_pressure_that_was_not_sent_is_said_not_to_be_known() -> None:
    (made,) = with_signs(mean_arterial_mmhg=70).values()
    missing = [one.code.coding[0].code for one in made.component if one.data_absent_reason]
    assert missing == ["systolic_mmhg", "diastolic_mmhg"]
    assert {one.data_absent_reason for one in made.component} == {None, NOT_KNOWN}


@pytest.mark.parametrize("first", ["sitting", "lying"])
def test_the_pressures_before_and_after_standing_up_say_their_position(first: str) -> None:
    taken = FULL.readiness.orthostatic
    assert taken is not None
    ready = replace(FULL.readiness, orthostatic=replace(taken, from_sitting=first == "sitting"))
    made = found(replace(FULL, readiness=ready))
    panel = made["vital-orthostatic"]
    assert codes(panel) == ["orthostatic", "34553-8"]
    names = ("vital-pressure-before", "vital-pressure-standing", "vital-minutes-standing")
    assert [one.reference for one in panel.has_member] == [
        f"Observation/{SCREEN_ID}-{name}" for name in names
    ]
    positions = []
    for name in names[:2]:
        (extension,) = made[name].extension
        assert extension.url.endswith("/StructureDefinition/observation-bodyPosition")
        assert extension.value_codeable_concept is not None
        positions.append(extension.value_codeable_concept.coding[0].code)
    assert positions == [first, "standing"]
    minutes = made["vital-minutes-standing"].value_quantity
    assert minutes is not None
    assert (minutes.value, minutes.code) == (1, "min")
    assert [one.text for one in panel.note] == ["Systolic pressure after standing up: -8 mmHg."]


@pytest.mark.parametrize("finding", FOUND)
def test_it_is_as_the_standard_has_its_vital_signs(finding: str) -> None:
    assert vital_faults(json.loads(bytes_of(FOUND[finding]))) == []


def test_body_size_without_the_time_of_measuring_is_the_hospitals_own_and_not_told_again() -> None:
    person = replace(FULL.patient, mass_measured_at=None)
    made = found(replace(FULL, patient=person))
    assert "vital-stature" in made
    assert not {"vital-mass", "vital-body-mass-index"} & set(made)
    bare = replace(person, stature_measured_at=None)
    assert "vital-stature" not in found(replace(FULL, patient=bare))


def test_body_size_is_dated_when_it_was_measured_and_not_put_down_to_the_assessor() -> None:
    made = FOUND["vital-mass"]
    assert made.effective_date_time == FULL.patient.mass_measured_at
    assert made.performer == ()
    assert FOUND["vital-heart-rate"].effective_date_time == FULL.observed_at
    assert FOUND["vital-heart-rate"].performer != ()


def test_the_index_rests_on_mass_and_stature_and_on_the_later_of_their_times() -> None:
    made = FOUND["vital-body-mass-index"]
    assert [one.reference for one in made.derived_from[1:]] == [
        f"Observation/{SCREEN_ID}-vital-mass",
        f"Observation/{SCREEN_ID}-vital-stature",
    ]
    assert made.effective_date_time == FULL.patient.stature_measured_at


def test_body_size_says_in_words_when_it_was_measured() -> None:
    told = FOUND["vital-mass"].text
    assert told is not None
    assert "72.50 kg. Measured 3 March 2026, 07:00 (UTC+1)." in told.div


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"category": []}, "category:VSCat"),
        ({"valueQuantity": {"value": 96, "unit": "%", "system": UCUM, "code": "1"}}, "not %"),
        ({"valueQuantity": None}, "vs-2"),
        ({"code": {"coding": [{"system": UCUM, "code": "2708-6"}]}}, "OxygenSatCode"),
        ({"component": [MINUTES]}, "min is no such unit"),
        ({"component": [{"code": MINUTES["code"]}]}, "vs-3"),
    ],
)
def test_what_the_standard_would_refuse_is_found(change: dict[str, Any], said: str) -> None:
    made = {**json.loads(bytes_of(FOUND["vital-spo2"])), **change}
    bent = {name: value for name, value in made.items() if value is not None}
    assert any(said in fault for fault in vital_faults(bent))
