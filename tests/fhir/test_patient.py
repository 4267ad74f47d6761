"""Does the Patient say what the screen said of the person, and no more?"""

from datetime import date

import pytest
from msgspec.structs import replace

from service.domain.subject import Subject
from service.domain.value import Name
from service.fhir.patient import patient_of
from service.fhir.resources import Patient
from service.fhir.structs import HumanName
from tests.fhir.answers import BARE, FULL, PATIENT_ID, SCREEN_ID, SITE, answer_to


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
