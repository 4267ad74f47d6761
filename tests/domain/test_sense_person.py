"""Is what cannot be about a person named, and what only just can be taken?"""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from msgspec.structs import replace

from service.domain.subject import Sex, Subject
from tests.domain.test_sense import H1, OBSERVED, found, screen, subject


@pytest.mark.parametrize(
    ("patient", "path", "rule"),
    [
        (Subject(identifier=H1), "birth_date", "age_once"),
        (
            Subject(identifier=H1, age_years=80, birth_date=date(1946, 1, 1)),
            "birth_date",
            "age_once",
        ),
        (subject(age_years=17), "age_years", "adults_only"),
        (subject(birth_date=date(2008, 3, 5)), "birth_date", "adults_only"),
        (subject(birth_date=date(1895, 3, 4)), "birth_date", "age_over_130"),
        (subject(birth_date=date(2026, 3, 5)), "birth_date", "born_after_screen"),
        (
            subject(injured_in_fall=True, falls_last_12_months=0),
            "injured_in_fall",
            "injured_without_fall",
        ),
        (subject(pregnant=True, sex=Sex.MALE), "pregnant", "pregnant_male"),
        (subject(more_identifiers=[H1]), "more_identifiers/0", "identifier_repeated"),
        (
            subject(more_identifiers=[replace(H1, value="H-2"), replace(H1, value="H-2")]),
            "more_identifiers/1",
            "identifier_repeated",
        ),
        (
            subject(mass_kg=Decimal(70), mass_measured_at=OBSERVED + timedelta(seconds=1)),
            "mass_measured_at",
            "measured_after_observed",
        ),
        (
            subject(stature_cm=Decimal(170), stature_measured_at=OBSERVED + timedelta(days=1)),
            "stature_measured_at",
            "measured_after_observed",
        ),
        (subject(mass_measured_at=OBSERVED), "mass_measured_at", "measured_without_value"),
        (
            subject(stature_cm=Decimal(170), stature_measured_at=datetime(1899, 1, 1, tzinfo=UTC)),
            "stature_measured_at",
            "before_1900",
        ),
    ],
)
def test_a_contradiction_about_the_person_is_named(patient: Subject, path: str, rule: str) -> None:
    assert found(screen(patient=patient)) == [(f"/patient/{path}", f"sense.{rule}")]


@pytest.mark.parametrize(
    "patient",
    [
        subject(birth_date=date(2008, 3, 4)),
        subject(birth_date=date(1895, 3, 5)),
        subject(age_years=18),
        subject(age_years=130),
        subject(injured_in_fall=True, falls_last_12_months=1),
        subject(injured_in_fall=True),
        subject(pregnant=True, sex=Sex.OTHER),
        subject(mass_kg=Decimal(70), mass_measured_at=OBSERVED),
    ],
)
def test_what_only_just_makes_sense_about_the_person_is_taken(patient: Subject) -> None:
    assert found(screen(patient=patient)) == []
