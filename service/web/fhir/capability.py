"""What is registered below ``/fhir/R4``, and how is that told as a CapabilityStatement?"""

from collections.abc import Iterable, Mapping

from litestar.response import Response

from service.fhir.capability import CapabilityStatement, Registered, capability_of
from service.fhir.search_part import part_of
from service.web.fhir import content
from service.web.house import Ask, House, house_of
from service.web.smart import rest_security

_INTERACTIONS: Mapping[tuple[str, str], str] = {
    ("GET", "/{id}"): "read",
    ("GET", "/{id}/_history/{version}"): "vread",
    ("GET", "/{id}/_history"): "history-instance",
    ("GET", ""): "search-type",
    ("POST", ""): "create",
    ("PUT", "/{id}"): "update",
}
_BY_QUERY = ("PUT", "")
_OPEN = "public, max-age=60"


async def metadata(request: Ask) -> Response[bytes]:
    """GET metadata, open to all."""
    part = content.part_asked(request, "CapabilityStatement")
    headers = {"Cache-Control": _OPEN}
    told = part_of(_statement(request, house_of(request)), part)
    return content.answer(request, told, headers=headers)


def _statement(request: Ask, house: House) -> CapabilityStatement:
    """Made once: the routes of a running service do not change."""
    known: CapabilityStatement | None = getattr(request.app.state, "capability", None)
    if known is None:
        routed = routes_of(
            (method, route.path_format)
            for route in request.app.routes
            for method in getattr(route, "methods", ())
        )
        known = statement_of(house, routed)
        request.app.state.capability = known
    return known


def routes_of(routed: Iterable[tuple[str, str]]) -> frozenset[tuple[str, str]]:
    """Method and address of each below the base, without it."""
    return frozenset(
        (method, path.removeprefix(content.PREFIX))
        for method, path in routed
        if path == content.PREFIX or path.startswith(f"{content.PREFIX}/")
    )


def statement_of(house: House, routed: frozenset[tuple[str, str]]) -> CapabilityStatement:
    """``routed``: as :func:`routes_of` gives it."""
    by_kind: dict[str, set[tuple[str, str]]] = {}
    for method, path in routed:
        _, _, rest = path.partition("/")
        kind, slash, below = rest.partition("/")
        if kind[:1].isupper():
            by_kind.setdefault(kind, set()).add((method, slash + below))
    system = ("transaction", "batch") if ("POST", "") in routed else ()
    return capability_of(
        house.site,
        [_registered(kind, listed) for kind, listed in sorted(by_kind.items())],
        system,
        tuple(sorted({path[2:] for _, path in routed if path.startswith("/$")})),
        rest_security(house.smart),
        house.service.clock(),
    )


def _registered(kind: str, listed: set[tuple[str, str]]) -> Registered:
    operations = {path.rpartition("$")[2] for _, path in listed if "$" in path}
    return Registered(
        kind,
        tuple([code for place, code in _INTERACTIONS.items() if place in listed]),
        tuple(sorted(operations)),
        conditional_create=("POST", "") in listed,
        conditional_update=_BY_QUERY in listed,
    )
