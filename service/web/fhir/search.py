"""How is a search answered: which patients, which page, what beside it, and with which links?

Business identifiers may come in and never go out in a link: the links name patients by their own
ids, and one whom nobody knows by an id that nobody has.
"""

from collections.abc import Iterable
from datetime import tzinfo
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from litestar.response import Response

from service.application.note_reading import note_reading_of_current
from service.application.search_records import known_by, noted, roots_of
from service.application.service import Call
from service.domain.problem import Fault, Refused, Unreadable
from service.fhir.provenance_history import PROVENANCE
from service.fhir.search_bundle import search_bundle
from service.fhir.search_control import Control
from service.fhir.search_part import part_told
from service.fhir.search_query import Query, Whose, read_query
from service.web.fhir import content
from service.web.fhir.conditions import is_strict, prefer_of
from service.web.fhir.included import included_with
from service.web.fhir.search_look import Search
from service.web.fhir.search_named import screen_behind
from service.web.fhir.search_walk import Mark, Walked, read_mark, walk, word_of
from service.web.fhir.sources import counted_of, source_of
from service.web.house import Ask, House, house_of
from service.web.operation import Handler
from service.web.security import caller

NOBODY = "00000000-0000-0000-0000-000000000000"
"""The id that no patient has."""
WEIGHTS = {"Goal": 4, "Flag": 4, "Task": 4, "Provenance": 4, "CarePlan": 2}
"""A plan is much to read, and what is told of a patient as a whole rests on several."""


def search(kind: str) -> Handler:
    """GET [type]?… and POST [type]/_search."""

    async def answer(request: Ask) -> Response[bytes]:
        content.accepted(request)
        call, house = await caller(request), house_of(request)
        said = await content.searched(request)
        query = await query_of(request, house, call, kind, said)
        groups = [await _patients_of(house, call, whose) for whose in query.whose]
        asked = _search(house, call, query, groups, await _named_ids(house, call, query))
        walked = await _walked(asked)
        await _noted(asked, walked)
        beside = await included_with(asked, walked.matches)
        bundle = search_bundle(
            house.site.base,
            query.control,
            [one for _, one in walked.matches],
            beside,
            total=walked.total,
            links=_links(house.site.base, query, groups, walked.next),
            ignored=query.ignored,
        )
        headers = {"Cache-Control": "private, no-cache"}
        return content.answer(request, bundle, headers=headers, said=said)

    return answer


async def query_of(
    request: Ask, house: House, call: Call, kind: str, said: Iterable[tuple[str, str]]
) -> Query:
    strict = is_strict(prefer_of(request))
    zone = await _zone(house, call)
    return read_query(kind, said, house.site.base, zone, strict=strict)


async def _zone(house: House, call: Call) -> tzinfo:
    name = await house.service.searches.time_zone(call.principal.org)
    try:
        return ZoneInfo(name)
    except ZoneInfoNotFoundError:
        return ZoneInfo("UTC")


async def _patients_of(house: House, call: Call, whose: Whose) -> tuple[str, ...]:
    """Who is meant by one condition: each that stays after merges."""
    found = list(await roots_of(house.service, call, whose.ids))
    for token in whose.identifiers:
        if token.code is None:
            text = "patient: a value is needed with the system of an identifier."
            raise Unreadable(text, (Fault("/http/patient", "search.value", text),))
        if token.system != "":
            known = await known_by(house.service, call, token.system, token.code)
            found += [one.id for one in known]
    return tuple(dict.fromkeys(found))


async def _named_ids(house: House, call: Call, query: Query) -> tuple[str, ...] | None:
    """The resources that the search names itself, or that are of what it names."""
    ids = query.ids
    for targets in query.targets:
        found = {
            f"{screen}-{PROVENANCE}"
            for kind, name in targets
            if (screen := await screen_behind(house, call, kind, name)) is not None
        }
        ids = tuple(sorted(found if ids is None else found.intersection(ids)))
    return ids


def _search(
    house: House,
    call: Call,
    query: Query,
    groups: list[tuple[str, ...]],
    ids: tuple[str, ...] | None,
) -> Search:
    patients = None
    if groups:
        first, *others = groups
        patients = tuple(one for one in first if all(one in other for other in others))
    return Search(
        house=house,
        call=call,
        query=query,
        now=house.service.clock(),
        patients=patients,
        ids=ids,
    )


async def _walked(asked: Search) -> Walked:
    control = asked.query.control
    weight = WEIGHTS.get(asked.query.kind, 1)
    shown = 0 if control.only_count else control.count
    try:
        found = await walk(
            source_of(asked),
            Mark() if control.only_count else _mark(control),
            shown,
            counting=_counting(asked),
            weight=weight,
            counted=counted_of(asked),
        )
    except Refused:
        raise no_cursor() from None
    if control.only_count and found.total is None:
        text = "_count: too many to be counted; name a patient or a shorter time."
        raise Unreadable(text, (Fault("/http/_count", "search.too_costly", text),))
    return Walked((), None, found.total) if control.only_count else found


def _mark(control: Control) -> Mark:
    try:
        return Mark() if control.cursor is None else read_mark(control.cursor)
    except ValueError:
        raise no_cursor() from None


def no_cursor() -> Unreadable:
    text = "_cursor: take the address of the next page from its link, unchanged."
    return Unreadable(text, (Fault("/http/_cursor", "search.value", text),))


def _counting(asked: Search) -> bool:
    """Exact where whose data it is is said or the total alone is asked for, or asked for so."""
    control = asked.query.control
    if control.only_count:
        return True
    if control.total is not None:
        return control.total != "none"
    return asked.patients is not None or asked.ids is not None


async def _noted(asked: Search, walked: Walked) -> None:
    """A patient's plan that holds now is shown though nothing can be noted."""
    kind, service = asked.query.kind, asked.house.service
    action = f"{kind.lower()}.search"
    shown = dict.fromkeys(unit.patient for unit, _ in walked.matches)
    shown |= dict.fromkeys(asked.patients or ())
    if walked.matches and len(shown) == 1 and all(unit.is_current for unit, _ in walked.matches):
        (patient,) = shown
        await note_reading_of_current(service, asked.call.entry(action, "ok", patient))
        return
    await noted(service, asked.call, action, shown)


def _links(
    base: str, query: Query, groups: list[tuple[str, ...]], more: Mark | None
) -> Iterable[tuple[str, str]]:
    used = [
        (one.name, one.value if one.whose is None else named_told(one.name, groups[one.whose]))
        for one in query.used
    ]
    used += controls_told(query.control)
    here = [("_cursor", query.control.cursor)] if query.control.cursor else []
    yield "self", address_told(base, query.kind, [*used, *here])
    if more is not None:
        yield "next", address_told(base, query.kind, [*used, ("_cursor", word_of(more))])


def named_told(name: str, patients: tuple[str, ...]) -> str:
    found = patients or (NOBODY,)
    return ",".join(found if name == "_id" else [f"Patient/{one}" for one in found])


def controls_told(control: Control) -> list[tuple[str, Any]]:
    told: list[tuple[str, Any]] = [("_count", control.count)]
    if control.orders:
        keys = [("-" if one.newest_first else "") + one.name for one in control.orders]
        told.append(("_sort", ",".join(keys)))
    if control.total is not None:
        told.append(("_total", control.total))
    told += part_told(control)
    told += [("_include", one) for one in control.includes]
    return told + [("_revinclude", one) for one in control.rev_includes]


def address_told(base: str, kind: str, used: list[tuple[str, Any]]) -> str:
    return f"{base}/{kind}?{urlencode(used, safe=':/,|')}"
