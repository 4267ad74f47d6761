"""Is a JSON value one that a primitive type of FHIR may have?"""

import base64
import binascii
import re
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from service.fhir.base_facts import type_facts
from service.fhir.validate_finding import Finding, Rule

_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_MOST = 2**31 - 1
_WHOLE = {"integer": (-_MOST - 1, _MOST), "unsignedInt": (0, _MOST), "positiveInt": (1, _MOST)}
_LONGEST = 1024 * 1024
_MOMENTS = ("date", "dateTime", "instant")
# Their patterns are those of any text, and text is looked at here.
_TEXTS = ("string", "markdown", "xhtml")
_ADDRESSES = ("uri", "url", "canonical")
_NAMED = {"urn:oid:": "oid", "urn:uuid:": "uuid"}
_FORM = {
    "boolean": "Write true or false, without quotes.",
    "decimal": "Write a number, without quotes.",
    "integer": "Write a whole number of at most 32 bits, without quotes.",
    "unsignedInt": "Write a whole number from 0 to 2147483647, without quotes.",
    "positiveInt": "Write a whole number from 1 to 2147483647, without quotes.",
    "date": "Write a date as YYYY, YYYY-MM or YYYY-MM-DD.",
    "dateTime": "Write YYYY, YYYY-MM, YYYY-MM-DD, or a time with seconds and zone as in"
    " 2026-01-31T09:30:00+01:00.",
    "instant": "Write a time with seconds and zone as in 2026-01-31T09:30:00+01:00.",
    "time": "Write a time of day as HH:MM:SS.",
    "code": "Write a code: no space at either end, none twice in a row.",
    "id": "Write 1 to 64 letters, digits, hyphens and dots.",
    "oid": "Write urn:oid: and the numbers with dots between them.",
    "uuid": "Write urn:uuid: and a UUID in small letters.",
    "base64Binary": "Write base64.",
}
_ADDRESS = "Write an address without spaces; a UUID in small letters after urn:uuid:."
_TEXT = "Write a text of at most 1048576 characters, not empty and without control characters."


def primitive_findings(kind: str, value: Any, path: str) -> Iterator[Finding]:
    """What is wrong with ``value`` as a ``kind``; null never comes here."""
    if not _is_json_kind(kind, value):
        yield Finding(Rule.JSON_FORM, path, form_of(kind))
    elif not _has_form(kind, value):
        yield Finding(Rule.VALUE_FORM, path, form_of(kind))
    elif kind in _MOMENTS and not is_in_calendar(value):
        yield Finding(Rule.NOT_IN_CALENDAR, path, "The calendar has no such day. Correct the date.")


def form_of(kind: str) -> str:
    """How a value of that kind is written."""
    return _FORM.get(kind) or (_TEXT if kind in _TEXTS else _ADDRESS)


def is_in_calendar(moment: str) -> bool:
    """Whether a date that has its form also has its day."""
    day = moment[:10]
    if len(day) < len("YYYY-MM-DD"):
        return True
    try:
        date.fromisoformat(day)
    except ValueError:
        return False
    return True


def _is_json_kind(kind: str, value: Any) -> bool:
    if kind == "boolean":
        return isinstance(value, bool)
    if kind in _WHOLE:
        return isinstance(value, int) and not isinstance(value, bool)
    if kind == "decimal":
        return isinstance(value, int | Decimal) and not isinstance(value, bool)
    return isinstance(value, str)


def _has_form(kind: str, value: Any) -> bool:
    if kind == "boolean":
        return True
    if kind in _WHOLE:
        least, most = _WHOLE[kind]
        return bool(least <= value <= most)
    if kind == "decimal":
        return Decimal(value).is_finite()
    if not value or _FORBIDDEN.search(value):
        return False
    if kind == "base64Binary":
        return _is_base64(value)
    if kind in _TEXTS:
        return len(value) <= _LONGEST and bool(value.strip())
    if kind in _ADDRESSES:
        return _is_address(value)
    return _pattern(kind).fullmatch(value) is not None


def _is_address(value: str) -> bool:
    """Without any kind of space; what is said to be an OID or a UUID is one."""
    if value.split() != [value]:
        return False
    named = next((kind for start, kind in _NAMED.items() if value.startswith(start)), None)
    return named is None or _pattern(named).fullmatch(value) is not None


def _is_base64(value: str) -> bool:
    try:
        base64.b64decode("".join(value.split()), validate=True)
    except (binascii.Error, ValueError):
        return False
    return bool(value.strip())


@cache
def _pattern(kind: str) -> re.Pattern[str]:
    """The pattern that the standard gives with the value of the type."""
    value = next(each for each in type_facts(kind).elements if each.path == f"{kind}.value")
    return re.compile(str(value.types[0].regex), re.ASCII)
