"""Does each order of a search give everything there is in it, from any place on?"""

from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import pytest

from service.fhir.search_query import read_query
from service.web.fhir.search_look import Search
from service.web.fhir.search_walk import Unit
from service.web.fhir.sources import source_of
from tests.web.fhir.desk import Desk, desk_on
from tests.web.fhir.served import corrected, two_people, withdrawn

SORTED = {
    "Observation": ("date", "-date", "_lastUpdated", "-_lastUpdated"),
    "QuestionnaireResponse": ("authored", "-authored", "_lastUpdated", "-_lastUpdated"),
    "CarePlan": ("date", "-date", "_lastUpdated", "-_lastUpdated"),
}
ORDERS = [(kind, (("_sort", sort),)) for kind, sorts in SORTED.items() for sort in sorts]
UNSORTED = ("Patient", "Goal", "Flag", "Task", "Provenance", "Device")
ALL: list[tuple[str, tuple[tuple[str, str], ...]]] = [*ORDERS, *((kind, ()) for kind in UNSORTED)]


@pytest.fixture
async def desk(tmp_path: Path) -> AsyncIterator[Desk]:
    async with desk_on(tmp_path) as one:
        yield one


def search_of(
    desk: Desk, kind: str, *said: tuple[str, str], patients: tuple[str, ...] | None = None
) -> Search:
    house = desk.house
    query = read_query(kind, said, house.site.base, desk.zone)
    return Search(
        house=house,
        call=desk.call,
        query=query,
        now=house.service.clock(),
        patients=patients,
        ids=query.ids,
    )


async def units(search: Search, step: int) -> list[Unit]:
    source = source_of(search)
    found: list[Unit] = []
    while True:
        some = await source(found[-1].cursor if found else None, step)
        found += some
        if len(some) < step:
            return found


def told(found: list[Unit]) -> list[str]:
    return [one.id for unit in found for one in unit.tell()]


async def test_any_step_gives_the_same_units_in_the_same_order(desk: Desk) -> None:
    first, _, other = await two_people(desk.running)
    await corrected(desk.running, first, context={"trained_helpers": 1})
    people = (first["screen"]["patient_id"], other["screen"]["patient_id"])
    for kind, said in ALL:
        for patients in (None, people, people[:1]):
            search = search_of(desk, kind, *said, patients=patients)
            whole = await units(search, 50)
            assert whole, kind
            assert len({unit.key for unit in whole}) == len(whole)
            for step in (1, 2):
                assert [one.cursor for one in await units(search, step)] == [
                    one.cursor for one in whole
                ]


async def test_a_place_just_before_a_unit_gives_it_and_what_follows(desk: Desk) -> None:
    await two_people(desk.running)
    for kind, said in ALL:
        search = search_of(desk, kind, *said)
        whole = await units(search, 50)
        for number, unit in enumerate(whole):
            again = await source_of(search)(unit.begin, 50)
            assert [one.key for one in again] == [one.key for one in whole[number:]], (kind, said)


async def test_an_order_and_its_opposite_give_the_same(desk: Desk) -> None:
    first, _, _ = await two_people(desk.running)
    desk.running.clock.pass_time(desk.minute)
    await corrected(desk.running, first, context={"trained_helpers": 1})
    for kind, sorts in SORTED.items():
        lists = [told(await units(search_of(desk, kind, ("_sort", one)), 9)) for one in sorts]
        assert len({frozenset(one) for one in lists}) == 1
        assert all(len(set(one)) == len(one) for one in lists)


async def test_by_changed_a_finding_stands_at_the_version_that_changed_it(desk: Desk) -> None:
    first, _, _ = await two_people(desk.running)
    desk.running.clock.pass_time(desk.minute)
    await corrected(desk.running, first, readiness={"rass": -1})
    found = await units(search_of(desk, "Observation", ("_sort", "-_lastUpdated")), 50)
    newest = found[0].tell()
    assert {one.meta.version_id for one in newest} == {"2"}
    assert any(one.id.endswith("-ready-rass") for one in newest)
    times: list[Any] = [one.meta.last_updated for unit in found for one in unit.tell()]
    assert times == sorted(times, reverse=True)


async def test_nobody_named_is_nobody_found(desk: Desk) -> None:
    await two_people(desk.running)
    for kind, said in ALL:
        assert await units(search_of(desk, kind, *said, patients=()), 9) == []


async def test_plans_of_a_status_are_the_ones_that_would_be_found_by_reading_all(
    desk: Desk,
) -> None:
    first, _, other = await two_people(desk.running)
    await withdrawn(desk.running, other)
    await corrected(desk.running, first, readiness={"rass": -1})
    every = [one for unit in await units(search_of(desk, "CarePlan"), 9) for one in unit.tell()]
    assert {one.status for one in every} == {"active", "revoked", "entered-in-error"}
    for status in ("active", "revoked", "entered-in-error", "completed"):
        some = await units(search_of(desk, "CarePlan", ("status", status)), 2)
        assert told(some) == [one.id for one in every if one.status == status]
        assert [unit.passed for unit in some].count(False) == len(told(some))
