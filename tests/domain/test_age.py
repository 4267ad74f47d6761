"""Is a person's age the completed years on the day of the screen?"""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.age import age_at
from service.domain.subject import Subject
from service.domain.value import Identifier

WHO = Identifier(system="urn:example:patients", value="p-1")


def _at(year: int, month: int, day: int) -> datetime:
    return datetime(year, month, day, 12, 0, tzinfo=UTC)


def test_a_given_age_is_taken_as_it_is() -> None:
    assert age_at(Subject(identifier=WHO, age_years=81), _at(2025, 3, 1)) == 81


@pytest.mark.parametrize(
    ("day", "age"),
    [((2025, 6, 14), 79), ((2025, 6, 15), 80), ((2025, 6, 16), 80), ((2025, 7, 1), 80)],
)
def test_a_year_is_completed_on_the_birthday(day: tuple[int, int, int], age: int) -> None:
    subject = Subject(identifier=WHO, birth_date=date(1945, 6, 15))
    assert age_at(subject, _at(*day)) == age


@pytest.mark.parametrize(
    ("day", "age"),
    [
        ((2024, 2, 28), 79),
        ((2024, 2, 29), 80),
        ((2025, 2, 28), 80),
        ((2025, 3, 1), 81),
    ],
)
def test_whoever_was_born_on_29_february_is_older_on_1_march_of_a_common_year(
    day: tuple[int, int, int], age: int
) -> None:
    subject = Subject(identifier=WHO, birth_date=date(1944, 2, 29))
    assert age_at(subject, _at(*day)) == age


def test_the_day_is_the_one_written_in_the_instants_own_offset() -> None:
    subject = Subject(identifier=WHO, birth_date=date(1945, 6, 15))
    east = datetime(2025, 6, 15, 1, 0, tzinfo=timezone(timedelta(hours=9)))
    assert age_at(subject, east) == 80
    assert age_at(subject, east.astimezone(UTC)) == 79


def test_a_subject_with_neither_birth_date_nor_age_has_no_age() -> None:
    with pytest.raises(ValueError, match="birth date or an age"):
        age_at(Subject(identifier=WHO), _at(2025, 1, 1))


@given(
    born=st.dates(date(1900, 1, 1), date(2024, 12, 31)),
    days=st.integers(0, 9000),
    more_days=st.integers(0, 4000),
)
def test_nobody_grows_younger(born: date, days: int, more_days: int) -> None:
    subject = Subject(identifier=WHO, birth_date=born)
    first = _at(2025, 1, 1) + timedelta(days=days)
    assert 0 <= age_at(subject, first) <= age_at(subject, first + timedelta(days=more_days))
