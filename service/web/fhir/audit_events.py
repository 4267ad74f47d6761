"""How is the audit trail read and searched over FHIR? By whoever has a scope that names it."""

from collections.abc import Callable, Iterable
from datetime import datetime

from litestar.response import Response
from msgspec.structs import replace

from service.application.read_trail import TrailPage, entry_named, trail_entry, trail_page
from service.application.search_records import known_by, noted
from service.application.service import Call
from service.application.trail_ports import Noted, TrailLook
from service.domain.problem import Fault, Refused, Unreadable
from service.fhir.audit_event import audit_event_of, patients_of, resource_of
from service.fhir.audit_parameters import AUDIT_EVENT
from service.fhir.search_bundle import search_bundle
from service.fhir.search_dates import bounds_of, moment_of
from service.fhir.search_query import Query, Whose
from service.web.fhir import content
from service.web.fhir.search import address_told, controls_told, named_told, no_cursor, query_of
from service.web.house import Ask, House, house_of
from service.web.security import caller

_COUNTED = 100_000
Groups = list[tuple[str, ...]]


async def read_event(request: Ask) -> Response[bytes]:
    """GET AuditEvent/[id]."""
    content.part_asked(request, AUDIT_EVENT)
    call, house = await caller(request), house_of(request)
    found = await trail_entry(house.service, call, request.path_params["id"])
    return content.versioned(request, audit_event_of(house.site, found))


async def search_events(request: Ask) -> Response[bytes]:
    """GET AuditEvent?… and POST AuditEvent/_search; the newest first where nothing is said."""
    content.accepted(request)
    call, house = await caller(request), house_of(request)
    said = await content.searched(request)
    query = await query_of(request, house, call, AUDIT_EVENT, said)
    groups = [await _ids_of(house, call, whose) for whose in query.whose]
    page = await _page(house, call, query, groups)
    await noted(house.service, call, "auditevent.search", await _known(house, call, groups, page))
    only_count = query.control.only_count
    shown = () if only_count else page.found
    bundle = search_bundle(
        house.site.base,
        query.control,
        [audit_event_of(house.site, one) for one in shown],
        (),
        total=await _total(house, call, query, groups, page),
        links=_links(house.site.base, query, groups, None if only_count else page.next),
        ignored=query.ignored,
    )
    headers = {"Cache-Control": "private, no-cache"}
    return content.answer(request, bundle, headers=headers, said=said)


async def _total(
    house: House, call: Call, query: Query, groups: Groups, page: TrailPage
) -> int | None:
    """How many match: where that is cheap, or asked for with the first page; None where they are
    too many for that."""
    control = query.control
    if control.only_count or query.ids is not None:
        return len(page.found)
    if control.total not in ("accurate", "estimate") or control.cursor is not None:
        return None
    if page.next is None:
        return len(page.found)
    alone = replace(query, control=replace(control, only_count=True))
    try:
        return len((await _page(house, call, alone, groups)).found)
    except Unreadable:
        return None


async def _ids_of(house: House, call: Call, whose: Whose) -> tuple[str, ...]:
    """Every id under which those who are meant were ever noted: of one who was erased too."""
    ids = list(whose.ids)
    for token in whose.identifiers:
        if token.code is None:
            text = "patient: a value is needed with the system of an identifier."
            raise Unreadable(text, (Fault("/http/patient", "search.value", text),))
        if token.system != "":
            known = await known_by(house.service, call, token.system, token.code)
            ids += [one.id for one in known]
    searches, org = house.service.searches, call.principal.org
    same = [await searches.same_patient(org, one) for one in ids]
    return tuple(dict.fromkeys(one for each in same for one in each))


async def _known(house: House, call: Call, groups: Groups, page: TrailPage) -> list[str]:
    """Whom the trail may name as asked for: what was sent may be anything, but an id of ours."""
    told = {patient for one in page.found for patient in patients_of(one)}
    asked = dict.fromkeys(one for group in groups for one in group)
    records, org = house.service.records, call.principal.org
    return [one for one in asked if one in told or await records.patient(org, one) is not None]


async def _page(house: House, call: Call, query: Query, groups: Groups) -> TrailPage:
    control, now = query.control, house.service.clock()
    wanted = _wanted(query, groups, now)
    newest_first = control.order is None or control.order.newest_first
    if query.ids is not None:
        named = [await entry_named(house.service, call, one) for one in query.ids]
        found = [one for one in named if one is not None and wanted(one)]
        found.sort(key=lambda one: (one.at, one.chain, one.seq), reverse=newest_first)
        return TrailPage(tuple(found), None)
    low, high = _bounds(query, now)
    look = TrailLook(
        newest_first=newest_first,
        limit=_COUNTED if control.only_count else control.count,
        wanted=wanted,
        low=low,
        high=high,
        after=control.cursor,
    )
    try:
        page = await trail_page(house.service, call, look)
    except Refused:
        raise no_cursor() from None
    if control.only_count and page.next is not None:
        text = "_count: too many to be counted; name a shorter time."
        raise Unreadable(text, (Fault("/http/_count", "search.too_costly", text),))
    return page


def _wanted(query: Query, groups: Groups, now: datetime) -> Callable[[Noted], bool]:
    sets = [frozenset(group) for group in groups]

    def wanted(one: Noted) -> bool:
        if sets and not all(group.intersection(patients_of(one)) for group in sets):
            return False
        return _is_of(one, query) and query.holds(one, now)

    return wanted


def _is_of(one: Noted, query: Query) -> bool:
    """Whether it names what was asked for as ``entity``."""
    if not query.targets:
        return True
    named = {("Patient", patient) for patient in patients_of(one)}
    resource = resource_of(one)
    if resource is not None:
        named.add(resource)
    return all(named.intersection(targets) for targets in query.targets)


def _bounds(query: Query, now: datetime) -> tuple[datetime | None, datetime | None]:
    """Between which times everything lies that can match."""
    lows: list[int] = []
    highs: list[int] = []
    for test in query.tests:
        bounds = [bounds_of(date, now) for date in test.dates]
        starts = [low for low, _ in bounds if low is not None]
        ends = [high for _, high in bounds if high is not None]
        if bounds and len(starts) == len(bounds):
            lows.append(min(starts))
        if bounds and len(ends) == len(bounds):
            highs.append(max(ends))
    return (
        moment_of(max(lows)) if lows else None,
        moment_of(min(highs)) if highs else None,
    )


def _links(base: str, query: Query, groups: Groups, more: str | None) -> Iterable[tuple[str, str]]:
    used = [
        (one.name, one.value if one.whose is None else named_told(one.name, groups[one.whose]))
        for one in query.used
    ]
    used += controls_told(query.control)
    here = [("_cursor", query.control.cursor)] if query.control.cursor else []
    yield "self", address_told(base, AUDIT_EVENT, [*used, *here])
    if more is not None:
        yield "next", address_told(base, AUDIT_EVENT, [*used, ("_cursor", more)])
