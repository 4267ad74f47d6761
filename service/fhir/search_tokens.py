"""Which codes and which references does a value in a search mean?

    ``system|code``  that code of that system      ``code``    that code of any system
    ``|code``        that code without a system    ``system|`` any code of that system

A comma parts values of which one must match; ``\\,`` ``\\|`` ``\\$`` and ``\\\\`` stand for the
character itself.
"""

import re
from collections.abc import Iterable
from typing import NamedTuple

from service.fhir.structs import CodeableConcept

Codes = tuple[tuple[str, str], ...]
"""System and code; the system is empty where none is told."""

_ESCAPED = re.compile(r"\\([\\,|$])")
_ID = re.compile(r"[A-Za-z0-9.-]{1,64}", re.ASCII)
_KIND = re.compile(r"[A-Z][A-Za-z]{1,63}", re.ASCII)
_PAIR = 2


class Token(NamedTuple):
    """None: any. An empty system: none."""

    system: str | None
    code: str | None

    def matches(self, codes: Codes) -> bool:
        return any(
            self.system in (None, system) and self.code in (None, code) for system, code in codes
        )


def alternatives(text: str) -> tuple[str, ...]:
    """The values between commas, escapes left as they are."""
    return _parted(text, ",")


def plain(text: str) -> str:
    """``text`` without its escapes."""
    return _ESCAPED.sub(r"\1", text)


def read_token(text: str) -> Token:
    """Raises ValueError."""
    parts = [plain(part) for part in _parted(text, "|")]
    if len(parts) > _PAIR or not any(parts):
        raise ValueError("Neither a system nor a code, or more than these.")
    if len(parts) < _PAIR:
        return Token(None, parts[0])
    return Token(parts[0], parts[1] or None)


def codes_of(concepts: Iterable[CodeableConcept]) -> Codes:
    return tuple((coding.system, coding.code) for one in concepts for coding in one.coding)


def status_codes(system: str, code: str) -> Codes:
    """A code whose system is never told, and which may be asked for with it or without."""
    return ((system, code), ("", code))


def read_reference(text: str, kind: str, base: str) -> str | None:
    """The id in a reference to our own resource of a ``kind``; None where another is meant.

    Takes the id alone, ``Kind/id`` and the address under ``base``. Raises ValueError.
    """
    text = plain(text).removeprefix(f"{base}/")
    named, slash, rest = text.rpartition("/")
    if "://" in text or text.startswith(("urn:", "#")):
        return None
    if not _ID.fullmatch(rest) or (slash and not _KIND.fullmatch(named)):
        raise ValueError("Not a reference.")
    return rest if named in ("", kind) else None


def is_id(text: str) -> bool:
    """Whether ``text`` can be the id of a resource."""
    return _ID.fullmatch(text) is not None


def _parted(text: str, mark: str) -> tuple[str, ...]:
    """``text`` cut at each ``mark`` that no backslash stands before."""
    parts, escaped = [""], False
    for sign in text:
        if sign == mark and not escaped:
            parts.append("")
            continue
        parts[-1] += sign
        escaped = sign == "\\" and not escaped
    return tuple(parts)
