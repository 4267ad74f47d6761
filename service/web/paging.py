"""Which part of a list is asked for, and where does the next part begin?"""

from datetime import datetime
from typing import Generic, TypeVar
from urllib.parse import urlencode

import msgspec
from msgspec import Struct

from service.domain.sense import EARLIEST
from service.domain.value import Instant
from service.web.house import Ask
from service.web.refusals import BadRequest

T = TypeVar("T")

DEFAULT_LIMIT = 50
MOST = 200
LONGEST_CURSOR = 400


def limit_of(request: Ask) -> int:
    """How many entries a page may have. Raises BadRequest."""
    text = one(request, "limit")
    if text is None:
        return DEFAULT_LIMIT
    if not text.isascii() or not text.isdigit() or len(text) > 4 or not 1 <= int(text) <= MOST:
        raise BadRequest(f"limit must be a whole number from 1 to {MOST}.")
    return int(text)


def cursor_of(request: Ask) -> str | None:
    """The opaque place where the page begins. Raises BadRequest."""
    cursor = one(request, "cursor")
    if cursor is not None and not 1 <= len(cursor) <= LONGEST_CURSOR:
        raise BadRequest("cursor must be taken from the link next of the page before.")
    return cursor


def since_of(request: Ask) -> datetime:
    """The time from which changes are asked for. Raises BadRequest."""
    try:
        since = msgspec.convert(one(request, "since"), Instant, strict=True)
    except msgspec.ValidationError:
        text = "since must be a time with its offset, such as 2026-03-04T08:15:00Z."
        raise BadRequest(text) from None
    # nothing is older, and a time at the end of the calendar cannot be reckoned with
    return max(since, EARLIEST)


def version_of(request: Ask) -> int | None:
    """Which version is asked for; None = the newest. Raises BadRequest."""
    text = one(request, "version")
    if text is None:
        return None
    if not text.isascii() or not text.isdigit() or len(text) > 9 or int(text) < 1:
        raise BadRequest("version must be a whole number from 1 on.")
    return int(text)


def one(request: Ask, name: str) -> str | None:
    """The parameter ``name``, which may come once. Raises BadRequest."""
    values = request.query_params.getall(name, [])
    if len(values) > 1:
        raise BadRequest(f"{name} may be given once.")
    return values[0] if values else None


def only(request: Ask, *names: str) -> None:
    """Refuses a parameter that means nothing here: it may be a misspelt one."""
    if not set(request.query_params.keys()) <= set(names):
        known = ", ".join(names) or "none"
        raise BadRequest(f"Parameters that this address takes: {known}.")


def next_link(request: Ask, cursor: str | None, **kept: str) -> str | None:
    """Absolute path of the page that follows; it carries a cursor and never a value."""
    if cursor is None:
        return None
    parameters = {"limit": str(limit_of(request)), **kept, "cursor": cursor}
    return f"{request.url.path}?{urlencode(parameters)}"


class Listed(Struct, Generic[T], frozen=True):
    """A page of a list. ``next`` is the address of the page that follows; null on the last."""

    items: tuple[T, ...]
    next: str | None


def fhir_links(link: str | None) -> tuple[tuple[str, str], ...]:
    """The link next as FHIR has it. It leads to this list, so it is an absolute path here."""
    return () if link is None else (("next", link),)
