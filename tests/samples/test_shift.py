"""Is an answer told as of the scenario's days, whichever day and hour it is lived on?"""

from datetime import UTC, datetime, timedelta

import pytest

from service.demo.scenario import here, read
from service.demo.shift import SINCE_NEWEST, Shift
from service.fhir.text import clock_time

SAMPLES = read(here())
NEWEST = max(sample.observed_at for sample in SAMPLES)
NOWS = [
    datetime(2026, 3, 4, 23, 59, tzinfo=UTC),
    datetime(2027, 1, 1, 0, 1, tzinfo=UTC),
    datetime(2031, 12, 31, 12, 0, tzinfo=UTC),
]


@pytest.mark.parametrize("now", NOWS)
@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_a_day_without_its_hour_is_told_as_of_the_scenario(sample: object, now: datetime) -> None:
    (lived,) = [one for one in SAMPLES if one is sample]
    by = (now - SINCE_NEWEST - NEWEST) // timedelta(minutes=1) * timedelta(minutes=1)
    answer = f'"startDate": "{(lived.observed_at + by).date()}", "statusDate": "2001-01-01"'
    told = Shift(SAMPLES, now).then(lived, answer, now, now)
    today = (NEWEST + SINCE_NEWEST).astimezone(lived.observed_at.tzinfo).date()
    assert told == f'"startDate": "{lived.observed_at.date()}", "statusDate": "{today}"'


def test_a_start_on_the_day_of_an_earlier_screen_is_that_screens_day() -> None:
    earlier, later = sorted(
        (one for one in SAMPLES if one.screen.patient.identifier.value == "H-1017"),
        key=lambda one: one.observed_at,
    )[:2]
    now = NOWS[1]
    by = (now - SINCE_NEWEST - NEWEST) // timedelta(minutes=1) * timedelta(minutes=1)
    answer = f'"startDate": "{(earlier.observed_at + by).date()}"'
    told = Shift(SAMPLES, now).then(later, answer, now, now)
    assert told == f'"startDate": "{earlier.observed_at.date()}"'


def test_a_day_that_no_screen_has_moves_by_as_many_days() -> None:
    sample = SAMPLES[0]
    told = Shift(SAMPLES, NEWEST + SINCE_NEWEST + timedelta(days=7)).then(
        sample, '"startDate": "1999-01-08"', NEWEST, NEWEST
    )
    assert told == '"startDate": "1999-01-01"'


@pytest.mark.parametrize("now", NOWS)
def test_a_clock_time_is_told_as_of_the_scenario(now: datetime) -> None:
    (lived,) = [one for one in SAMPLES if one.observed_at == NEWEST][:1]
    by = (now - SINCE_NEWEST - NEWEST) // timedelta(minutes=1) * timedelta(minutes=1)
    then = datetime(2026, 3, 9, 8, 5, tzinfo=NEWEST.tzinfo)
    answer = f"Screen again by {clock_time(then + by, NEWEST)}."
    told = Shift(SAMPLES, now).then(lived, answer, now, now)
    assert told == f"Screen again by {clock_time(then, NEWEST)}."
