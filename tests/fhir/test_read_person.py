"""Does a person who is known or sent beside a response fill what its items leave out?"""

from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.subject import Sex
from service.domain.value import Identifier, Name
from service.fhir.read_person import Person, person_known, person_of
from tests.fhir.answers import BARE, FULL
from tests.fhir.responses import (
    Raw,
    answer_of,
    bare,
    faults_of,
    full,
    plain,
    read_screen,
    without,
)

AT = "/Bundle/entry/0/resource"
MARA: Raw = {
    "resourceType": "Patient",
    "identifier": [
        {"use": "old", "system": "urn:oid:2.999.7", "value": "H-0"},
        {"use": "usual", "system": "urn:oid:2.999.7", "value": "H-1007"},
        {"system": "urn:oid:2.999.70", "value": "N-12"},
        {"value": "no system"},
    ],
    "name": [
        {"use": "old", "family": "Before"},
        {"use": "official", "family": "Aldous", "given": ["Mara", "Jo"]},
    ],
    "gender": "female",
    "birthDate": "1948-03-02",
    "telecom": [{"system": "phone", "value": "1"}],
}


def sent(**more: Any) -> Person:
    person, faults = person_of({**MARA, **more}, AT)
    assert faults == []
    return person


def nobody(raw: Raw) -> Raw:
    """``raw`` without anything that says who it is about."""
    return without({**raw, "subject": {"reference": "urn:x"}}, "patient")


def test_what_a_patient_tells_beside_who_it_is_changes_nothing() -> None:
    told = {
        "url": "http://example.org/StructureDefinition/told",
        "extension": [{"url": "code", "valueCoding": {"system": "urn:x", "code": "a"}}],
    }
    more = {
        "extension": [told],
        "_birthDate": {"extension": [told]},
        "address": [{"city": "Harbour", "extension": [told]}],
        "maritalStatus": {"text": "married"},
        "communication": [{"language": {"text": "Dutch"}, "preferred": True}],
        "generalPractitioner": [{"display": "somebody"}],
    }
    assert sent(**more) == sent()
    _, faults = person_of({**MARA, "modifierExtension": [told]}, AT)
    assert [(one.path, one.rule) for one in faults] == [
        (f"{AT}/modifierExtension", "form.modifier")
    ]


def test_a_patient_that_was_sent_fills_what_the_items_leave_out() -> None:
    patient = read_screen(nobody(plain()), sent()).patient
    assert patient.identifier == Identifier(system="urn:oid:2.999.7", value="H-1007")
    assert patient.more_identifiers == [Identifier(system="urn:oid:2.999.70", value="N-12")]
    assert patient.name == Name(family="Aldous", given="Mara Jo")
    assert (str(patient.birth_date), patient.sex) == ("1948-03-02", Sex.FEMALE)
    assert patient.mass_kg is None


def test_what_the_items_say_stands() -> None:
    assert read_screen(plain(), sent()) == FULL


def over(end: str) -> Raw:
    return {"system": "urn:oid:2.999.7", "value": "H-0", "period": {"end": end}}


@pytest.mark.parametrize(
    ("end", "used"),
    [
        ("2026-03-03", False),
        ("2026-03-03T23:00:00Z", False),
        ("2026-02", False),
        ("2025", False),
        ("2026-03-04", True),
        ("2026", True),
        ("2030-01-01", True),
    ],
)
def test_an_identifier_is_used_until_it_ends(end: str, used: bool) -> None:  # noqa: FBT001
    person = sent(identifier=[over(end), *MARA["identifier"]])
    patient = read_screen(nobody(plain()), person).patient
    assert (patient.identifier.value == "H-0") is used
    alone = faults_of(nobody(plain()), sent(identifier=[over(end)]))
    assert alone == ([] if used else [(f"{AT}/identifier", "form.identifier")])
    raw = plain()
    answer_of(raw, "patient.identifier.value")["valueString"] = "H-0"
    assert faults_of(raw, sent(identifier=[over(end)])) == (
        [] if used else [("/subject", "form.disagrees")]
    )


def test_an_age_is_enough_and_no_birth_date_is_added() -> None:
    raw = plain(replace(BARE, patient=replace(BARE.patient, identifier=FULL.patient.identifier)))
    patient = read_screen(raw, sent(birthDate="1955-03-01")).patient
    assert (patient.age_years, patient.birth_date) == (71, None)


@pytest.mark.parametrize(
    ("link", "value", "place"),
    [
        ("patient.birth_date", {"valueDate": "1950-01-01"}, f"{AT}/birthDate"),
        ("patient.identifier.value", {"valueString": "H-9"}, "/subject"),
    ],
)
def test_another_person_than_the_one_sent_is_a_fault(link: str, value: Raw, place: str) -> None:
    raw = plain()
    answer_of(raw, link).clear()
    answer_of(raw, link).update(value)
    assert faults_of(raw, sent()) == [(place, "form.disagrees")]


@pytest.mark.parametrize(
    ("born", "ages"),
    [
        ("1955-03-04", [71]),
        ("1955-03-05", [70]),
        ("1955-03", [70, 71]),
        ("1955-04", [70]),
        ("1955-02", [71]),
        ("1955", [70, 71]),
    ],
)
def test_an_age_in_the_items_is_that_of_the_birth_date_sent(born: str, ages: list[int]) -> None:
    for age in range(68, 73):
        raw = plain(replace(FULL, patient=replace(FULL.patient, birth_date=None, age_years=age)))
        told = [] if age in ages else [(f"{AT}/birthDate", "form.disagrees")]
        assert faults_of(raw, sent(birthDate=born)) == told


def test_an_age_is_not_held_against_a_patient_of_ours_nor_against_no_time() -> None:
    aged = replace(FULL, patient=replace(FULL.patient, birth_date=None, age_years=30))
    assert faults_of(plain(aged), person_known(FULL.patient)) == []
    raw = plain(aged)
    answer_of(raw, "observed_at")["valueDateTime"] = "2026-02-30T08:15:00Z"
    assert [rule for _, rule in faults_of(raw, sent())] == ["shape.time"]


def test_another_sex_than_the_one_sent_is_a_fault() -> None:
    assert faults_of(plain(), sent(gender="male")) == [(f"{AT}/gender", "form.disagrees")]


def test_names_are_not_held_against_each_other() -> None:
    assert read_screen(plain(), sent(name=[{"family": "Aldus"}])) == FULL


@pytest.mark.parametrize(
    ("more", "place", "rule"),
    [
        ({"gender": "f"}, f"{AT}/gender", "shape.word"),
        ({"birthDate": "1948"}, f"{AT}/birthDate", "shape.time"),
        ({"name": [{"family": "x" * 201}]}, f"{AT}/name", "shape.length"),
    ],
)
def test_a_fact_that_cannot_be_taken_is_placed_in_the_patient(
    more: Raw, place: str, rule: str
) -> None:
    assert faults_of(nobody(plain()), sent(**more)) == [(place, rule)]


@pytest.mark.parametrize(
    ("more", "place", "rule"),
    [
        ({"identifier": []}, f"{AT}/identifier", "shape.empty"),
        ({"identifier": [{"value": "1"}]}, f"{AT}/identifier", "form.identifier"),
        ({"active": False}, f"{AT}/active", "form.modifier"),
        ({"deceasedBoolean": True}, f"{AT}/deceasedBoolean", "form.modifier"),
        ({"link": [{"other": {"reference": "Patient/1"}, "type": "replaced-by"}]},
         f"{AT}/link", "form.modifier"),
        ({"modifierExtension": [{"url": "urn:x"}]}, f"{AT}/modifierExtension", "form.modifier"),
        ({"unheard": 1}, f"{AT}/unheard", "shape.unknown_field"),
    ],
)  # fmt: skip
def test_a_patient_that_cannot_be_taken_is_refused(more: Raw, place: str, rule: str) -> None:
    _, faults = person_of({**MARA, **more}, AT)
    assert [(fault.path, fault.rule) for fault in faults] == [(place, rule)]


def test_a_patient_alive_and_in_use_is_taken() -> None:
    assert sent(active=True, deceasedBoolean=False).identifiers[0]["value"] == "H-1007"


def test_names_for_other_purposes_and_empty_ones_are_passed_over() -> None:
    person = sent(name=[{"use": "nickname", "family": "M"}, {"text": "Mara"}, {"given": ["Mara"]}])
    assert person.facts["name"] == {"given": "Mara"}
    assert "name" not in sent(name=[{"use": "maiden", "family": "Before"}]).facts


def test_a_patient_of_ours_fills_and_is_not_held_against_the_items() -> None:
    known = person_known(replace(FULL.patient, sex=Sex.MALE))
    assert read_screen(plain(), known) == FULL
    patient = read_screen(nobody(plain()), known).patient
    assert patient.identifier == FULL.patient.identifier
    assert patient.more_identifiers == []
    assert (patient.birth_date, patient.sex) == (FULL.patient.birth_date, Sex.MALE)
    assert patient.mass_kg is None


def test_a_patient_of_ours_is_another_than_the_items_name() -> None:
    known = person_known(BARE.patient)
    assert faults_of(plain(), known) == [("/subject", "form.disagrees")]
    theirs = person_known(BARE.patient, ({"system": "urn:oid:2.999.7", "value": "H-1007"},))
    assert read_screen(plain(), theirs) == FULL


def test_a_bare_patient_of_ours_brings_the_identifier_alone() -> None:
    known = person_known(BARE.patient)
    raw = nobody(bare())
    assert faults_of(raw, known) == []
    assert read_screen(raw, known).patient.identifier == BARE.patient.identifier


def test_what_could_not_be_read_is_not_filled_in() -> None:
    raw = full()
    for link in ("patient.birth_date", "patient.sex"):
        answer_of(raw, link).clear()
        answer_of(raw, link)["valueInteger"] = 1
    assert [rule for _, rule in faults_of(raw, sent())] == ["form.answer_type"] * 2
