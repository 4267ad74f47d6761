"""Where does a search look, in which order, and what does it make of what it finds?"""

from collections.abc import Awaitable, Callable, Mapping
from datetime import datetime
from typing import Any

from msgspec.structs import replace

from service.application.plan_history import plan_versions
from service.application.search_ports import By, FoundScreen, PassedPlan, PlanInList, SeenPlan
from service.application.search_records import found_plans, found_screens, screen_versions
from service.application.standing import LOOKED_BACK, looked_up
from service.domain.record import PatientRecord
from service.fhir.care_plan import care_plan_of
from service.fhir.finding_history import findings_of
from service.fhir.provenance_history import newest_provenance
from service.fhir.questionnaire_response import response_of
from service.fhir.search_plans import searched_plan
from service.fhir.software import device_id
from service.web.fhir.instances import WHOLES, patient_instance
from service.web.fhir.search_look import Search, look_of
from service.web.fhir.search_named import by_ids, place_before
from service.web.fhir.search_tied import sorted_together, tied
from service.web.fhir.search_ties import Ties
from service.web.fhir.search_walk import Source, Unit

Made = Callable[[], tuple[Any, ...]]


def source_of(search: Search) -> Source:
    """The units of a search in their order."""
    kind, orders = search.query.kind, search.query.control.orders
    listed, ties = _listed(search), Ties(kind, orders)
    if search.ids is not None:
        return sorted_together(listed, len(search.ids), ties) if orders else listed
    return tied(listed, ties) if len(orders) > 1 else listed


def _listed(search: Search) -> Source:
    kind = search.query.kind
    if search.ids is not None:
        return by_ids(search, search.ids)
    if search.patients == ():
        return _nothing
    if kind in ("Observation", "QuestionnaireResponse", "Provenance"):
        return _screens(search)
    if kind == "CarePlan":
        return _plans(search)
    if kind == "Device":
        return by_ids(search, (device_id(search.house.service.book.ref),))
    return _patients(search)


async def _nothing(_after: str | None, _limit: int) -> tuple[Unit, ...]:
    return ()


def _screens(search: Search) -> Source:
    look = look_of(search)

    async def take(after: str | None, limit: int) -> tuple[Unit, ...]:
        asked = replace(look, after=after, limit=limit)
        found = await found_screens(search.house.service, search.call, asked)
        return tuple([await _screen_unit(search, look.by, one) for one in found])

    return take


async def _screen_unit(search: Search, by: By, found: FoundScreen) -> Unit:
    record, version = found.versions[-1].screen, str(found.version)
    told = [one.screen for one in found.versions if one.screen.version == found.version]
    times = [one.content.observed_at if by is By.OBSERVED else one.recorded_at for one in told]
    made = await _MADE[search.query.kind](search, found)

    def tell() -> tuple[Any, ...]:
        told = made()
        if by is By.CHANGED:
            told = tuple([one for one in told if one.meta.version_id == version])
        return search.matching(told)

    return Unit(
        begin=found.begin,
        cursor=found.cursor,
        key=record.id if by is By.OBSERVED else f"{record.id}/{version}",
        tell=tell,
        patient=record.patient_id,
        screen=record.id,
        at=next(iter(times), None),
    )


async def _observations(search: Search, found: FoundScreen) -> Made:
    return lambda: findings_of(search.house.site, found.versions).newest()


async def _responses(search: Search, found: FoundScreen) -> Made:
    return lambda: (response_of(search.house.site, found.versions[-1].screen),)


async def _provenances(search: Search, found: FoundScreen) -> Made:
    screen_id = found.versions[-1].screen.id
    history = await screen_versions(search.house.service, search.call, screen_id)
    return lambda: (newest_provenance(search.house.site, history, search.now),)


_MADE: Mapping[str, Callable[[Search, FoundScreen], Awaitable[Made]]] = {
    "Observation": _observations,
    "QuestionnaireResponse": _responses,
    "Provenance": _provenances,
}


def counted_of(search: Search) -> Source | None:
    """The same units where they are only counted, if that takes less; None where it does not."""
    listed = search.ids is None and search.patients != ()
    return _plans(search, search.now) if listed and search.query.kind == "CarePlan" else None


def _plans(search: Search, glance: datetime | None = None) -> Source:
    look = replace(look_of(search), glance=glance)

    async def take(after: str | None, limit: int) -> tuple[Unit, ...]:
        asked = replace(look, after=after, limit=limit)
        found = await found_plans(search.house.service, search.call, asked)
        return tuple([_plan_unit(search, look.by, one) for one in found])

    return take


def _plan_unit(search: Search, by: By, found: PlanInList) -> Unit:
    if isinstance(found, PassedPlan):
        return _unread(found, (), found.at)
    if isinstance(found, SeenPlan):
        return _unread(found, search.matching((searched_plan(search.house.site, found),)))
    plan = found.plan.plan

    def tell() -> tuple[Any, ...]:
        """The moves, which are most of it, are told of a plan that matches alone."""
        newest = plan_versions(found.plan, search.now)[0]
        site, bare = search.house.site, replace(newest.plan, moves=())
        if not search.matching((care_plan_of(site, bare, found.record, newest.events),)):
            return ()
        return (care_plan_of(site, newest.plan, found.record, newest.events),)

    return Unit(
        begin=found.begin,
        cursor=found.cursor,
        key=plan.id,
        tell=tell,
        patient=plan.patient_id,
        screen=plan.screen_id,
        is_current=found.plan.is_current,
        at=plan.valid_from if by is By.OBSERVED else found.plan.events[-1].at,
    )


def _unread(
    found: PassedPlan | SeenPlan, told: tuple[Any, ...], at: datetime | None = None
) -> Unit:
    return Unit(
        begin=found.begin,
        cursor=found.cursor,
        key=found.id,
        tell=lambda: told,
        passed=True,
        at=at,
    )


def _patients(search: Search) -> Source:
    """Patient by patient, in the order of their ids."""

    async def take(after: str | None, limit: int) -> tuple[Unit, ...]:
        org, records = search.call.principal.org, search.house.service.records
        if search.patients is None:
            page = await search.house.service.searches.find_patients(org, limit, after)
            people = page.items
        else:
            named = [one for one in sorted(search.patients) if after is None or one > after]
            found = [await records.patient(org, one) for one in named[:limit]]
            people = tuple([one for one in found if one is not None])
        return tuple([await _patient_unit(search, one) for one in people])

    return take


async def _patient_unit(search: Search, record: PatientRecord) -> Unit:
    told: tuple[Any, ...] = ()
    service, kind = search.house.service, search.query.kind
    if kind == "Patient":
        found = await patient_instance(search.house, search.call, record, 1)
        told = () if found is None else found.versions
    else:
        stood = await looked_up(service, search.call, record.id, 1, LOOKED_BACK)
        told = WHOLES[kind](search.house.site, stood[0]) if stood else ()
    matching = search.matching(told)
    if search.query.control.orders:
        matching = tuple(sorted(matching, key=lambda one: str(one.id)))
    return Unit(
        begin=place_before(record.id),
        cursor=record.id,
        key=record.id,
        tell=lambda: matching,
        patient=record.id,
    )
