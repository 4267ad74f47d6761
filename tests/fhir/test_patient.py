"""Does the Patient say what the screen said of the person, and no more?"""

from datetime import date, timedelta

import pytest
from msgspec.structs import replace

from service.application.ports import Family, Joined
from service.domain.subject import Subject
from service.domain.value import Name
from service.fhir.encode import bytes_of
from service.fhir.patient import patient_of
from service.fhir.resources import Patient
from service.fhir.structs import HumanName
from tests.fhir.answers import BARE, FULL, PATIENT_ID, RECORDED_AT, SCREEN_ID, SITE, answer_to
from tests.fhir.own_checks import resource_faults
from tests.fhir.validators import form_faults, official_faults, parse_faults, read, without_decimals


def patient(subject: Subject | None = None) -> Patient:
    record = answer_to(FULL).screen
    content = replace(FULL, patient=subject or FULL.patient)
    return patient_of(SITE, replace(record, content=content))


def test_identifiers_name_birth_date_and_sex_are_told() -> None:
    made = patient()
    assert made.id == PATIENT_ID
    assert [one.value for one in made.identifier] == ["H-1007", "N-12"]
    assert made.name == (HumanName(family="Aldous", given=("Mara",)),)
    assert (made.gender, made.birth_date) == ("female", date(1948, 3, 2))


def test_the_version_names_the_screen_that_told_of_the_person() -> None:
    assert patient().meta.version_id == f"{SCREEN_ID}.1"


def test_an_age_is_not_turned_into_a_birth_date() -> None:
    made = patient_of(SITE, answer_to(BARE).screen)
    assert made.birth_date is None
    assert made.gender is None
    assert made.name == ()


@pytest.mark.parametrize(
    ("name", "told"),
    [
        (Name(), ()),
        (Name(family="Aldous"), (HumanName(family="Aldous"),)),
        (Name(given="Mara"), (HumanName(given=("Mara",)),)),
    ],
)
def test_half_a_name_is_told_as_half_a_name(name: Name, told: tuple[HumanName, ...]) -> None:
    assert patient(replace(FULL.patient, name=name)).name == told


def test_the_narrative_says_all_of_it() -> None:
    text = patient().text
    assert text is not None
    for said in ("Mara Aldous", "H-1007", "N-12", "1948-03-02", "female"):
        assert said in text.div


def test_a_record_that_another_took_over_leads_there_and_is_not_active() -> None:
    record = answer_to(FULL).screen
    family = Family(PATIENT_ID, (), "stays", RECORDED_AT + timedelta(hours=3))
    made = patient_of(SITE, record, family)
    assert made.active is False
    assert [(one.type, one.other.reference) for one in made.link] == [
        ("replaced-by", "Patient/stays")
    ]
    assert made.meta.version_id == f"{SCREEN_ID}.1.1"
    assert made.meta.last_updated == family.replaced_at


def test_the_one_that_stays_names_those_it_took_over() -> None:
    taken = (
        Joined("gone-1", RECORDED_AT - timedelta(days=1)),
        Joined("gone-2", RECORDED_AT + timedelta(hours=1)),
    )
    made = patient_of(SITE, answer_to(FULL).screen, Family("stays", taken))
    assert made.id == "stays"
    assert [(one.type, one.other.reference) for one in made.link] == [
        ("replaces", "Patient/gone-1"),
        ("replaces", "Patient/gone-2"),
    ]
    assert made.active is None
    assert (made.meta.version_id, made.meta.last_updated) == (f"{SCREEN_ID}.1.2", taken[1].at)


def test_whoever_is_one_with_nobody_is_told_as_before() -> None:
    record = answer_to(FULL).screen
    assert patient_of(SITE, record, Family(PATIENT_ID)) == patient_of(SITE, record)


@pytest.mark.parametrize(
    "family",
    [
        Family(PATIENT_ID, (), "stays", RECORDED_AT),
        Family(PATIENT_ID, (Joined("gone-1", RECORDED_AT),)),
    ],
    ids=["taken over", "stays"],
)
def test_every_validator_takes_a_joined_patient(family: Family) -> None:
    raw = bytes_of(patient_of(SITE, answer_to(FULL).screen, family))
    assert resource_faults(read(raw)) == []
    assert form_faults(raw) == []
    assert parse_faults(raw) == []
    assert official_faults(without_decimals(raw)) == []
