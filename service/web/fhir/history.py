"""How are all versions of one resource listed, newest first?"""

from datetime import UTC
from typing import Any
from urllib.parse import urlencode

from litestar.response import Response

from service.domain.problem import Fault, Unreadable
from service.fhir.search_bundle import history_bundle
from service.fhir.search_control import FORMS
from service.fhir.search_dates import Span, moment_of, read_date, span_of
from service.fhir.search_part import PARTS, part_told
from service.fhir.search_query import shown as named
from service.web.fhir import content
from service.web.fhir.conditions import is_strict, prefer_of
from service.web.fhir.read import found_instance
from service.web.house import Ask, house_of
from service.web.operation import Handler
from service.web.security import caller

MOST_VERSIONS = 100
"""Versions of one resource that are listed, at most: the newest."""
_LONGEST = 9
_OWN = ("_since", "_count", "_page")
_KNOWN = (*_OWN, *FORMS, *PARTS)
_NARROWING = ("_at", "_list")


def history(kind: str) -> Handler:
    """GET [type]/[id]/_history?_since=&_count=&_page=."""

    async def answer(request: Ask) -> Response[bytes]:
        part = content.part_asked(request, kind)
        _known_alone(request)
        call, base = await caller(request), house_of(request).site.base
        count, page = _number(request, "_count", 50), _number(request, "_page", 1)
        since = _since(request)
        found = await found_instance(request, call, kind, "history", MOST_VERSIONS + 1)
        versions = [one for one in found.versions[:MOST_VERSIONS] if _made_since(one, since)]
        count = min(count, MOST_VERSIONS)
        shown = versions[(page - 1) * count :][:count] if page > 0 else ()
        address = f"{base}/{kind}/{request.path_params['id']}/_history"
        kept = dict(part_told(part))
        if since is not None:
            kept["_since"] = moment_of(since.start).isoformat()
        links = [("self", _link(address, count, page, kept))]
        if 0 < page * count < len(versions):
            links.append(("next", _link(address, count, page + 1, kept)))
        exact = len(found.versions) <= MOST_VERSIONS
        total = len(versions) if exact else None
        bundle = history_bundle(base, part, shown, total=total, links=links)
        return content.answer(request, bundle, headers={"Cache-Control": "private, no-cache"})

    return answer


def _known_alone(request: Ask) -> None:
    """Nothing that would leave versions out is passed over, and nothing at all where the caller
    is strict. Raises Unreadable."""
    strict = is_strict(prefer_of(request))
    for name, _ in content.parameters_of(request):
        if name in _NARROWING or (strict and name not in _KNOWN):
            text = f"{named(name)}: a history is asked for by {', '.join(_OWN)}."
            raise Unreadable(text, (Fault(f"/http/{named(name)}", "search.unknown", text),))


def _link(address: str, count: int, page: int, kept: dict[str, str]) -> str:
    return f"{address}?{urlencode({**kept, '_count': count, '_page': page})}"


def _since(request: Ask) -> Span | None:
    """From when on versions are asked for."""
    text = _one(request, "_since")
    if text is None:
        return None
    try:
        asked = read_date(text, UTC)
    except ValueError:
        raise _refused("_since", "a time such as 2026-03-04T08:15:00Z.") from None
    if not text[:1].isdigit():
        raise _refused("_since", "a time with nothing before it.")
    return asked.span


def _made_since(resource: Any, since: Span | None) -> bool:
    changed = resource.meta.last_updated
    return since is None or changed is None or span_of(changed).start >= since.start


def _number(request: Ask, name: str, otherwise: int) -> int:
    text = _one(request, name)
    if text is None:
        return otherwise
    if not text.isascii() or not text.isdigit() or len(text) > _LONGEST:
        raise _refused(name, "a whole number.")
    return int(text)


def _one(request: Ask, name: str) -> str | None:
    said = [value for known, value in content.parameters_of(request) if known == name]
    if len(said) > 1:
        raise _refused(name, "said once.")
    return said[0] if said else None


def _refused(name: str, what: str) -> Unreadable:
    text = f"{name}: {what}"
    return Unreadable(text, (Fault(f"/http/{name}", "search.value", text),))
