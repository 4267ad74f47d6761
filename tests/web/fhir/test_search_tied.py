"""Are those that stand at one time sorted by the further keys, page by page, as others come in?"""

import asyncio
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.problem import Unreadable
from service.fhir.search_control import Order
from service.web.fhir.search_tied import MOST_TIED, sorted_together, tied
from service.web.fhir.search_ties import Ties
from service.web.fhir.search_walk import (
    MOST_UNITS,
    PASSED_LIGHTER,
    Mark,
    Source,
    Unit,
    Walked,
    walk,
)

START = datetime(2026, 3, 4, tzinfo=UTC)
DATE_THEN_CHANGED = (Order("date", newest_first=True), Order("_lastUpdated", newest_first=True))
TIES = Ties("Observation", DATE_THEN_CHANGED)
Shelf = dict[tuple[int, int], int]
"""Time and number of a unit to when it changed; the greatest time comes first."""


def unit(time: int, number: int, changed: int) -> Unit:
    at = START + timedelta(seconds=time)
    told = SimpleNamespace(
        id=f"{time}-{number}",
        effective_date_time=at,
        meta=SimpleNamespace(last_updated=START + timedelta(seconds=changed)),
    )
    return Unit(
        begin=f"{time:03}.{number:03}~",
        cursor=f"{time:03}.{number:03}",
        key=told.id,
        tell=lambda: (told,),
        at=at,
    )


def source_of(shelf: Shelf) -> Source:
    async def take(after: str | None, limit: int) -> tuple[Unit, ...]:
        units = [unit(*place, shelf[place]) for place in sorted(shelf, reverse=True)]
        left = [one for one in units if after is None or one.cursor < after]
        return tuple(left[:limit])

    return take


def expected(shelf: Shelf) -> list[str]:
    by_id = sorted(shelf, key=lambda place: f"{place[0]}-{place[1]}")
    by_change = sorted(by_id, key=lambda place: shelf[place], reverse=True)
    return [
        f"{time}-{number}"
        for time, number in sorted(by_change, key=lambda place: place[0], reverse=True)
    ]


def page(source: Source, mark: Mark, count: int, *, counting: bool = False) -> Walked:
    return asyncio.run(walk(source, mark, count, counting=counting))


def ids_of(walked: Walked) -> list[str]:
    return [one.id for _, one in walked.matches]


SHELVES = st.dictionaries(
    st.tuples(st.integers(0, 4), st.integers(0, 9)), st.integers(0, 3), max_size=14
)


@given(SHELVES, st.integers(1, 5))
def test_the_pages_together_are_everything_sorted_by_every_key(shelf: Shelf, count: int) -> None:
    seen: list[str] = []
    mark: Mark | None = Mark()
    while mark is not None:
        found = page(tied(source_of(shelf), TIES), mark, count, counting=mark == Mark())
        seen += ids_of(found)
        assert found.total == len(shelf)
        mark = found.next
    assert seen == expected(shelf)


@given(SHELVES, SHELVES, st.integers(1, 4))
def test_what_comes_in_between_pages_neither_hides_nor_repeats_what_was_there(
    shelf: Shelf, new: Shelf, count: int
) -> None:
    there, growing = set(expected(shelf)), dict(shelf)
    coming = [place for place in new if place not in shelf]
    seen: list[str] = []
    mark: Mark | None = Mark()
    while mark is not None:
        found = page(tied(source_of(growing), TIES), mark, count)
        seen += ids_of(found)
        mark = found.next
        if coming:
            place = coming.pop()
            growing[place] = new[place]
    assert len(seen) == len(set(seen))
    assert there <= set(seen)


@given(SHELVES, st.integers(1, 9))
def test_each_resource_comes_with_its_own_unit(shelf: Shelf, count: int) -> None:
    for one, resource in page(tied(source_of(shelf), TIES), Mark(), count).matches:
        assert one.key == resource.id


def test_what_is_passed_over_is_looked_at_no_further_than_was_asked_for() -> None:
    asked: list[int] = []

    def passed(place: int) -> Unit:
        at, word = START - timedelta(seconds=place), f"{place:06}"
        return Unit(begin=word, cursor=word, key=word, tell=lambda: (), passed=True, at=at)

    async def take(after: str | None, limit: int) -> tuple[Unit, ...]:
        asked.append(limit)
        first = 0 if after is None else int(after) + 1
        return tuple([passed(place) for place in range(first, first + limit)])

    found = page(tied(take, TIES), Mark(), 9)
    assert found.matches == ()
    assert found.next is not None
    assert sum(asked) < 2 * MOST_UNITS * PASSED_LIGHTER


def test_what_is_passed_over_parts_nobody() -> None:
    def passed(cursor: str, at: datetime) -> Unit:
        return Unit(begin=cursor, cursor=cursor, key=cursor, tell=lambda: (), passed=True, at=at)

    same = START + timedelta(seconds=5)
    units = (
        passed("9", START + timedelta(seconds=9)), unit(5, 2, 1), passed("005.001~", same),
        unit(5, 1, 7), passed("0", START),
    )  # fmt: skip

    async def take(after: str | None, _: int) -> tuple[Unit, ...]:
        return units if after is None else ()

    found = page(tied(take, TIES), Mark(), 9)
    assert ids_of(found) == ["5-1", "5-2"]


def test_too_many_at_one_time_are_refused_rather_than_sorted_wrong() -> None:
    shelf = {(1, number): 0 for number in range(MOST_TIED + 1)}
    with pytest.raises(Unreadable) as caught:
        page(tied(source_of(shelf), TIES), Mark(), 5)
    assert [fault.path for fault in caught.value.faults] == ["/http/_sort"]
    del shelf[1, 0]
    assert len(ids_of(page(tied(source_of(shelf), TIES), Mark(), 500))) == MOST_TIED


@given(SHELVES, st.integers(1, 5))
def test_those_that_were_named_are_sorted_whatever_their_times(shelf: Shelf, count: int) -> None:
    by_change = Ties("Observation", (Order("_lastUpdated", newest_first=False),))
    by_id = sorted(shelf, key=lambda place: f"{place[0]}-{place[1]}")
    seen: list[str] = []
    mark: Mark | None = Mark()
    while mark is not None:
        source: Any = sorted_together(source_of(shelf), len(shelf), by_change)
        found = page(source, mark, count)
        seen += ids_of(found)
        mark = found.next
    changed = sorted(by_id, key=lambda place: shelf[place])
    assert seen == [f"{time}-{number}" for time, number in changed]
