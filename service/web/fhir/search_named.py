"""What is found by a search that names the resources itself?"""

from typing import Any

from service.application.search_records import plan_behind, roots_of
from service.application.service import Call
from service.web.fhir.instances import FIND
from service.web.fhir.search_look import Search
from service.web.fhir.search_walk import Source, Unit
from service.web.house import House

_ID = 36
"""The characters of a screen's id."""


def by_ids(search: Search, ids: tuple[str, ...]) -> Source:
    """Each id by itself, in the order of the ids."""

    async def take(after: str | None, limit: int) -> tuple[Unit, ...]:
        left = [one for one in ids if after is None or one > after]
        return tuple([await _unit_of(search, name) for name in left[:limit]])

    return take


def place_before(name: str) -> str:
    """A word that sorts before an id and behind all other ids before it."""
    return f"{name[:-1]}{chr(ord(name[-1]) - 1)}~"


async def _unit_of(search: Search, name: str) -> Unit:
    found = await FIND[search.query.kind](search.house, search.call, name, 1)
    patient = None if found is None else found.patient
    told: tuple[Any, ...] = ()
    if found is not None and await _is_asked_for(search, patient):
        told = search.matching(found.versions)
    return Unit(
        begin=place_before(name),
        cursor=name,
        key=name,
        tell=lambda: told,
        patient=patient,
        screen=_screen_of(told),
        is_current=found is not None and found.is_current,
    )


async def _is_asked_for(search: Search, patient: str | None) -> bool:
    if search.patients is None:
        return True
    if patient is None:
        return False
    roots = await roots_of(search.house.service, search.call, (patient,))
    return bool(set(roots) & set(search.patients)) or patient in search.patients


async def screen_behind(house: House, call: Call, kind: str, name: str) -> str | None:
    """The screen that a CarePlan or an Observation is of; None for anything else."""
    if kind == "Observation":
        return name[:_ID]
    found = await plan_behind(house.service, call, name) if kind == "CarePlan" else None
    return None if found is None else found.plan.plan.screen_id


def _screen_of(told: tuple[Any, ...]) -> str | None:
    for one in told:
        if type(one).__name__ == "CarePlan":
            reference: str = one.supporting_info[0].reference
            return reference.rpartition("/")[2]
        return str(one.id)[:_ID]
    return None
