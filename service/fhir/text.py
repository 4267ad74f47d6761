"""How is any recorded text made fit for FHIR?

A FHIR string holds no control characters, is not empty, and must survive XML; an id holds
letters, digits, ``-`` and ``.`` only.
"""

import re
from datetime import UTC, datetime, timedelta
from functools import cache, lru_cache

_UNFIT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_NOT_IN_A_URI = re.compile(f"{_UNFIT.pattern}|\\s")
_REPLACEMENT = "\N{REPLACEMENT CHARACTER}"
_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_WIDEST_OFFSET = timedelta(hours=14)


def tidy(text: str) -> str:
    """``text`` as a FHIR string. A character that cannot be sent is shown as replaced, so that
    two different values do not become the same one."""
    if text.isprintable():
        return text.strip() or _REPLACEMENT
    return _UNFIT.sub(_REPLACEMENT, text).strip() or _REPLACEMENT


def tidy_uri(text: str) -> str:
    """``text`` as a FHIR uri: no white space and no control characters."""
    return _NOT_IN_A_URI.sub("", text) or _REPLACEMENT


def fhir_id(native: str) -> str:
    """``native`` as a FHIR id. Ids refuse the underscore."""
    return native.replace("_", "-")


def words(code: str) -> str:
    """A code of ours in plain words."""
    return code.replace("_", " ")


@cache
def sentence(code: str) -> str:
    """A code of ours, of which there are only so many, in plain words with a capital."""
    plain = words(code)
    return plain[:1].upper() + plain[1:]


def uncapital(title: str) -> str:
    """``title`` as it stands inside a sentence; an abbreviation stays as it is."""
    return title[:1].lower() + title[1:] if title[1:2].islower() else title


def zoned(moment: datetime) -> datetime:
    """``moment`` with an offset FHIR can write: whole minutes, at most 14 hours."""
    offset = moment.utcoffset()
    if offset is None:
        raise ValueError("FHIR times need an offset.")
    if abs(offset) <= _WIDEST_OFFSET and not offset.total_seconds() % 60:
        return moment
    return moment.astimezone(UTC)


def clock_time(moment: datetime, beside: datetime) -> str:
    """``moment`` as people at the place of ``beside`` read it. The offset is said, for whoever
    sends times of another place shows another hour than the clock on the wall."""
    told = moment.astimezone(zoned(beside).tzinfo)
    day = f"{told.day} {_MONTHS[told.month - 1]} {told.year:04}"
    return f"{day}, {told.hour:02}:{told.minute:02} ({_offset(told.utcoffset())})"


@lru_cache(maxsize=256)
def _offset(offset: timedelta | None) -> str:
    """Hours, and minutes where there are any: UTC, UTC+1, UTC-3:30."""
    minutes = round((offset or timedelta()).total_seconds() / 60)
    if not minutes:
        return "UTC"
    hours, rest = divmod(abs(minutes), 60)
    return f"UTC{'+' if minutes > 0 else '-'}{hours}" + (f":{rest:02}" if rest else "")
