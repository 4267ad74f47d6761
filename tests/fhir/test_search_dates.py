"""Do date searches mean what the standard says? Held against a calendar walked second by second."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.fhir.search_dates import (
    PREFIXES,
    Span,
    bounds_of,
    matches,
    moment_of,
    period_of,
    read_date,
    span_of,
)

NOW = datetime(2026, 3, 5, tzinfo=UTC)
DUBLIN = ZoneInfo("Europe/Dublin")
SECOND = 1_000_000


def at(text: str) -> datetime:
    return datetime.fromisoformat(text)


@pytest.mark.parametrize(
    ("text", "start", "end"),
    [
        ("2026", "2026-01-01T00:00+00:00", "2027-01-01T00:00+00:00"),
        ("2026-02", "2026-02-01T00:00+00:00", "2026-03-01T00:00+00:00"),
        ("2026-12", "2026-12-01T00:00+00:00", "2027-01-01T00:00+00:00"),
        ("2024-02-29", "2024-02-29T00:00+00:00", "2024-03-01T00:00+00:00"),
        ("2026-07-01", "2026-06-30T23:00+00:00", "2026-07-01T23:00+00:00"),
        ("2026-03-29", "2026-03-29T00:00+00:00", "2026-03-29T23:00+00:00"),
        ("2026-07-01T08:15", "2026-07-01T07:15+00:00", "2026-07-01T07:16+00:00"),
        ("2026-07-01T08:15Z", "2026-07-01T08:15+00:00", "2026-07-01T08:16+00:00"),
        ("2026-07-01T08:15:30-05:00", "2026-07-01T13:15:30+00:00", "2026-07-01T13:15:31+00:00"),
        ("2026-07-01T08:15:30 05:00", "2026-07-01T03:15:30+00:00", "2026-07-01T03:15:31+00:00"),
        (
            "2026-07-01T08:15:30.25Z",
            "2026-07-01T08:15:30.250000+00:00",
            "2026-07-01T08:15:30.260000+00:00",
        ),
        (
            "2026-07-01T08:15:30.123456789Z",
            "2026-07-01T08:15:30.123456+00:00",
            "2026-07-01T08:15:30.123457+00:00",
        ),
    ],
)
def test_a_date_means_all_that_it_leaves_open_as_the_clocks_there_show_it(
    text: str, start: str, end: str
) -> None:
    value = read_date(text, DUBLIN)
    assert value.prefix == "eq"
    assert (moment_of(value.span.start), moment_of(value.span.end)) == (at(start), at(end))


@pytest.mark.parametrize(
    "text",
    [
        "", "26", "2026-13", "2026-00", "2026-02-30", "2026-3-4", "2026-03-04T", "2026-03-04T08",
        "2026-03-04T24:00", "2026-03-04T08:60", "2026-03-04T08:15:60Z", "0000", "xx2026",
        "ge 2026", "2026-03-04T08:15+15:00", "2026-03-04T08:15+01:75", "2026-03-04 08:15Z",
        "2026-03-04T08:15z", "\N{ARABIC-INDIC DIGIT TWO}026", "GE2026", "2026-03-04Z",
    ],
)  # fmt: skip
def test_what_is_no_date_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"[a-z]"):
        read_date(text, UTC)


@pytest.mark.parametrize("text", ["0001", "0001-01-01T00:00+14:00", "9999", "9999-12-31T23:59Z"])
def test_the_ends_of_the_calendar_can_be_asked_for(text: str) -> None:
    for zone in (UTC, DUBLIN):
        value = read_date(text, zone)
        assert value.span.start < value.span.end
        low, high = bounds_of(value, NOW)
        assert low is not None and high is not None
        assert moment_of(low) <= moment_of(high)


def brute_force(prefix: str, asked: range, told: range) -> bool:
    """The words of the standard over sets of moments."""
    inside = set(told) <= set(asked)
    above = any(moment >= asked.stop for moment in told)
    below = any(moment < asked.start for moment in told)
    touches = bool(set(asked) & set(told))
    return {
        "eq": inside,
        "ne": not inside,
        "gt": above,
        "lt": below,
        "ge": above or inside,
        "le": below or inside,
        "sa": above and not touches and not below,
        "eb": below and not touches and not above,
    }[prefix]


NEAR = st.integers(-8, 8)
LENGTH = st.integers(1, 6)


@given(st.sampled_from(PREFIXES[:-1]), NEAR, LENGTH, NEAR, LENGTH)
def test_each_prefix_is_what_the_sets_of_moments_say(
    prefix: str, start: int, length: int, told_start: int, told_length: int
) -> None:
    value = read_date(f"{prefix}2026", UTC)._replace(span=Span(start, start + length))
    told = Span(told_start, told_start + told_length)
    expected = brute_force(prefix, range(*value.span), range(*told))
    assert matches(value, told, NOW) is expected


TEXTS = st.sampled_from(
    ["2026", "2026-03", "2026-03-04", "2026-03-04T08:15", "2026-03-04T08:15:30Z", "1970-01"]
)


@given(
    st.sampled_from(PREFIXES),
    TEXTS,
    st.integers(-2 * 24 * 3600, 368 * 24 * 3600),
)
def test_nothing_that_matches_lies_outside_the_bounds(prefix: str, text: str, seconds: int) -> None:
    value = read_date(prefix + text, DUBLIN)
    low, high = bounds_of(value, NOW)
    told = span_of(at("2026-01-01T00:00:00+00:00") + timedelta(seconds=seconds))
    if matches(value, told, NOW):
        assert low is None or told.start >= low
        assert high is None or told.start <= high


def test_a_time_is_as_exact_as_it_is_told() -> None:
    second = at("2026-03-04T08:15:30+00:00")
    assert span_of(second).end - span_of(second).start == SECOND
    exact = second + timedelta(microseconds=7)
    assert span_of(exact).end - span_of(exact).start == 1
    period = period_of(second, exact)
    assert (period.start, period.end) == (span_of(second).start, span_of(exact).end)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("2026-03-04T08:15:23.000Z", True), ("eq2026-03-04T08:15:23.000000Z", True),
        ("le2026-03-04T08:15:23.000Z", True), ("ge2026-03-04T08:15:23.000Z", True),
        ("gt2026-03-04T08:15:23.000Z", False), ("lt2026-03-04T08:15:23.000Z", False),
        ("ne2026-03-04T08:15:23.000Z", False), ("2026-03-04T08:15:23.500Z", False),
        ("lt2026-03-04T08:15:23.500Z", True), ("sa2026-03-04T08:15:22.999Z", True),
    ],
)  # fmt: skip
def test_a_time_to_the_second_is_its_start_where_fractions_are_asked_for(
    asked: str, *, found: bool
) -> None:
    told = span_of(at("2026-03-04T08:15:23+00:00"))
    assert matches(read_date(asked, UTC), told, at("2026-03-05T00:00:00+00:00")) is found


def test_near_is_a_tenth_of_the_distance_from_now() -> None:
    value = read_date("ap2026-02-23", UTC)
    # the day ended 9 days ago, a tenth of which is 21 hours and 36 minutes
    assert matches(value, span_of(at("2026-02-24T21:30:00+00:00")), NOW)
    assert not matches(value, span_of(at("2026-02-24T21:40:00+00:00")), NOW)
    assert matches(value, span_of(at("2026-02-23T12:00:00+00:00")), NOW)
