"""How are all versions of one resource listed, newest first?"""

from urllib.parse import urlencode

from litestar.response import Response

from service.domain.problem import Fault, Unreadable
from service.fhir.search_bundle import history_bundle
from service.web.fhir import content
from service.web.fhir.read import found_instance
from service.web.house import Ask, house_of
from service.web.operation import Handler
from service.web.security import caller

MOST_VERSIONS = 100
"""Versions of one resource that are listed, at most: the newest."""
_LONGEST = 9


def history(kind: str) -> Handler:
    """GET [type]/[id]/_history?_count=&_page=."""

    async def answer(request: Ask) -> Response[bytes]:
        content.accepted(request)
        call, base = await caller(request), house_of(request).site.base
        count, page = _number(request, "_count", 50), _number(request, "_page", 1)
        found = await found_instance(request, call, kind, "history", MOST_VERSIONS + 1)
        versions = found.versions[:MOST_VERSIONS]
        count = min(count, MOST_VERSIONS)
        shown = versions[(page - 1) * count :][:count] if page > 0 else ()
        address = f"{base}/{kind}/{request.path_params['id']}/_history"
        links = [("self", _link(address, count, page))]
        if 0 < page * count < len(versions):
            links.append(("next", _link(address, count, page + 1)))
        exact = len(found.versions) <= MOST_VERSIONS
        total = len(versions) if exact else None
        bundle = history_bundle(base, shown, total=total, links=links)
        return content.answer(request, bundle, headers={"Cache-Control": "private, no-cache"})

    return answer


def _link(address: str, count: int, page: int) -> str:
    return f"{address}?{urlencode({'_count': count, '_page': page})}"


def _number(request: Ask, name: str, otherwise: int) -> int:
    said = [value for known, value in content.parameters_of(request) if known == name]
    if not said:
        return otherwise
    text = said[0]
    if len(said) > 1 or not text.isascii() or not text.isdigit() or len(text) > _LONGEST:
        fault = f"{name}: one whole number."
        raise Unreadable(fault, (Fault(f"/http/{name}", "search.value", fault),))
    return int(text)
