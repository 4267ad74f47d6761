"""Does a time come back as it was, to the microsecond?"""

from datetime import UTC, datetime, timedelta, timezone

from hypothesis import given
from hypothesis import strategies as st

from service.storage.times import from_micros, to_micros


@given(st.datetimes(timezones=st.just(UTC)))
def test_a_time_comes_back_to_the_microsecond(time: datetime) -> None:
    assert from_micros(to_micros(time)) == time


def test_the_offset_does_not_change_the_moment() -> None:
    there = datetime(2026, 3, 4, 8, 15, tzinfo=timezone(timedelta(hours=1)))
    assert to_micros(there) == to_micros(datetime(2026, 3, 4, 7, 15, tzinfo=UTC))
