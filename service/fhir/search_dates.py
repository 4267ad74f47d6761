"""Which moments does a date in a search mean, and does the time of a resource match it?

A date means all moments that it leaves open: ``2026-03`` a month, ``2026-03-04T08:15`` a minute.
Without a zone it is meant as the organisation's clocks show it. Moments are counted in
microseconds since 1970 in UTC; a span takes in its start and not its end.

    eq  the whole time lies in the span        ne  not eq
    gt  part of the time lies after the span   lt  part of it lies before
    ge  gt or eq                               le  lt or eq
    sa  all of it lies after                   eb  all of it lies before
    ap  eq or near: the span is widened by a tenth of its distance from now, and touched
"""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from typing import NamedTuple

PREFIXES = ("eq", "ne", "gt", "lt", "ge", "le", "sa", "eb", "ap")
_FORM = re.compile(
    r"(?P<prefix>[a-z]{2})?(?P<year>\d{4})(?:-(?P<month>\d\d)(?:-(?P<day>\d\d)"
    r"(?:T(?P<hour>\d\d):(?P<minute>\d\d)(?::(?P<second>\d\d)(?:\.(?P<fraction>\d{1,9}))?)?"
    r"(?P<zone>Z|[+ -]\d\d:\d\d)?)?)?)?",
    re.ASCII,
)
_START = datetime(1970, 1, 1, tzinfo=UTC)
_MICRO = timedelta(microseconds=1)
_FIRST = datetime(1, 1, 1, tzinfo=UTC)
_LAST = datetime(9999, 12, 31, 23, 59, 59, 999_999, tzinfo=UTC)
_DIGITS = 6
_SECOND = 1_000_000
_WIDEST_OFFSET = timedelta(hours=14)
_LAST_YEAR, _DECEMBER = 9999, 12


class Span(NamedTuple):
    """From ``start`` on, up to ``end`` and not with it, microseconds."""

    start: int
    end: int


class DateValue(NamedTuple):
    """What one value of a date parameter asks for."""

    prefix: str
    span: Span


def read_date(text: str, zone: tzinfo) -> DateValue:
    """The value as it was written. Raises ValueError."""
    found = _FORM.fullmatch(text)
    if found is None or (found["prefix"] or "eq") not in PREFIXES:
        raise ValueError("Not a date.")
    try:
        return DateValue(found["prefix"] or "eq", _span(found, zone))
    except OverflowError:
        raise ValueError("Outside the calendar.") from None


def span_of(moment: datetime) -> Span:
    """The time as a resource tells it: to the second, or to the microsecond where it has some."""
    start = _micros(moment)
    return Span(start, start + (1 if moment.microsecond else _SECOND))


def period_of(start: datetime, end: datetime) -> Span:
    return Span(_micros(start), span_of(end).end)


def matches(asked: DateValue, told: Span, now: datetime) -> bool:
    """Whether the time ``told`` answers what was asked. Where fractions of a second are asked
    for, a time that was told to the second is meant to its start."""
    if asked.span.end - asked.span.start < _SECOND == told.end - told.start:
        told = Span(told.start, told.start + 1)
    return _TESTS[asked.prefix](_near(asked, now), told)


def bounds_of(asked: DateValue, now: datetime) -> tuple[int | None, int | None]:
    """Between which moments, both included, a time to the second must begin to match."""
    span = _near(asked, now)
    low, high = span.start - _SECOND, span.end
    if asked.prefix == "ne":
        return None, None
    if asked.prefix in ("lt", "le", "eb"):
        return None, high
    if asked.prefix in ("gt", "ge", "sa"):
        return low, None
    return low, high


def moment_of(micros: int) -> datetime:
    """The moment in UTC, moved to the end of the calendar where it lies outside."""
    try:
        return _START + micros * _MICRO
    except OverflowError:
        return _FIRST if micros < 0 else _LAST


def _near(asked: DateValue, now: datetime) -> Span:
    if asked.prefix != "ap":
        return asked.span
    here, (start, end) = _micros(now), asked.span
    margin = max(start - here, here - end, 0) // 10
    return Span(start - margin, end + margin)


def _within(span: Span, told: Span) -> bool:
    return span.start <= told.start and told.end <= span.end


_TESTS: dict[str, Callable[[Span, Span], bool]] = {
    "eq": _within,
    "ne": lambda span, told: not _within(span, told),
    "gt": lambda span, told: told.end > span.end,
    "lt": lambda span, told: told.start < span.start,
    "ge": lambda span, told: told.end > span.end or _within(span, told),
    "le": lambda span, told: told.start < span.start or _within(span, told),
    "sa": lambda span, told: told.start >= span.end,
    "eb": lambda span, told: told.end <= span.start,
    "ap": lambda span, told: told.start < span.end and told.end > span.start,
}


def _span(found: re.Match[str], zone: tzinfo) -> Span:
    year, month, day = int(found["year"]), int(found["month"] or 1), int(found["day"] or 1)
    first = date(year, month, day)
    if found["hour"] is None:
        begin = _at(first, time(), zone)
        return Span(begin, _at(_next(first, found), time(), zone, begin))
    fraction = (found["fraction"] or "")[:_DIGITS]
    clock = time(
        int(found["hour"]),
        int(found["minute"]),
        int(found["second"] or 0),
        int(fraction.ljust(_DIGITS, "0")),
    )
    begin = _at(first, clock, _zone(found["zone"], zone))
    if found["second"] is None:
        return Span(begin, begin + 60 * _SECOND)
    return Span(begin, begin + 10 ** (_DIGITS - len(fraction)))


def _next(first: date, found: re.Match[str]) -> date | None:
    """The day after the last one meant; None after the last one there is."""
    if found["day"] is not None:
        return None if first == date.max else first + timedelta(days=1)
    if found["month"] is not None and first.month < _DECEMBER:
        return first.replace(month=first.month + 1)
    if first.year == _LAST_YEAR:
        return None
    return date(first.year + 1, 1, 1)


def _at(day: date | None, clock: time, zone: tzinfo, otherwise: int = 0) -> int:
    if day is None:
        return otherwise + 366 * 24 * 3600 * _SECOND
    return _micros(datetime.combine(day, clock, zone))


def _zone(text: str | None, otherwise: tzinfo) -> tzinfo:
    """A space stands where somebody left the plus of an address as it was."""
    if text is None:
        return otherwise
    if text == "Z":
        return UTC
    minutes = int(text[4:])
    offset = timedelta(hours=int(text[1:3]), minutes=minutes)
    if minutes > 59 or offset > _WIDEST_OFFSET:
        raise ValueError("No such zone.")
    return timezone(-offset if text[0] == "-" else offset)


def _micros(moment: datetime) -> int:
    return (moment - _START) // _MICRO
