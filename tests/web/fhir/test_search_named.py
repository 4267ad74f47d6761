"""Is each that a search names found by itself, and the screen behind a target?"""

from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from service.fhir.search_query import read_query
from service.web.fhir.search import NOBODY
from service.web.fhir.search_look import Search
from service.web.fhir.search_named import by_ids, place_before, screen_behind
from tests.web.fhir.desk import Desk, desk_on
from tests.web.fhir.served import two_people


@pytest.fixture
async def desk(tmp_path: Path) -> AsyncIterator[Desk]:
    async with desk_on(tmp_path) as one:
        yield one


def search_of(desk: Desk, kind: str, patients: tuple[str, ...] | None = None) -> Search:
    house = desk.house
    query = read_query(kind, (), house.site.base, desk.zone)
    now = house.service.clock()
    return Search(house=house, call=desk.call, query=query, now=now, patients=patients)


async def test_each_is_a_unit_and_what_is_not_there_tells_nothing(desk: Desk) -> None:
    first, _, other = await two_people(desk.running)
    plans = tuple(sorted([first["plan"]["id"], other["plan"]["id"]]))
    units = await by_ids(search_of(desk, "CarePlan"), (NOBODY, *plans))(None, 9)
    assert [unit.key for unit in units] == [NOBODY, *plans]
    assert [[one.id for one in unit.tell()] for unit in units] == [[], *[[one] for one in plans]]
    assert [unit.screen for unit in units if unit.tell()] == [
        answer["screen"]["id"]
        for answer in sorted((first, other), key=lambda one: str(one["plan"]["id"]))
    ]


async def test_one_of_another_patient_than_was_asked_for_tells_nothing(desk: Desk) -> None:
    first, _, other = await two_people(desk.running)
    mine = (first["screen"]["patient_id"],)
    search = search_of(desk, "CarePlan", mine)
    for answer, number in ((first, 1), (other, 0)):
        (unit,) = await by_ids(search, (answer["plan"]["id"],))(None, 9)
        assert len(unit.tell()) == number


def test_the_place_before_an_id_is_behind_every_id_before_it() -> None:
    assert "ab1" > place_before("ab1") > "ab0"


async def test_the_screen_behind_a_target(desk: Desk) -> None:
    first, _, _ = await two_people(desk.running)
    screen_id = first["screen"]["id"]
    for kind, name, expected in (
        ("CarePlan", first["plan"]["id"], screen_id),
        ("Observation", f"{screen_id}-panel", screen_id),
        ("CarePlan", "nothing", None),
        ("Goal", "x", None),
    ):
        assert await screen_behind(desk.house, desk.call, kind, name) == expected
