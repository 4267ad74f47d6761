"""How does a time become the whole number that is stored, and back?"""

from datetime import UTC, datetime, timedelta

_START = datetime(1970, 1, 1, tzinfo=UTC)
_STEP = timedelta(microseconds=1)


def to_micros(time: datetime) -> int:
    """Microseconds since 1970 in UTC, exact."""
    return (time - _START) // _STEP


def from_micros(micros: int) -> datetime:
    """The time in UTC."""
    return _START + micros * _STEP
