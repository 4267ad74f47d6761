"""Does paging show everything once, whatever comes in meanwhile, and count to the end?"""

import asyncio
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.web.fhir.search_walk import (
    MOST_COUNTED,
    MOST_UNITS,
    PASSED_LIGHTER,
    Mark,
    Source,
    Unit,
    Walked,
    read_mark,
    walk,
    word_of,
)

Shelf = dict[int, int]
"""Place to the number of resources there; the greatest place comes first."""


def source_of(shelf: Shelf) -> Source:
    async def take(after: str | None, limit: int) -> tuple[Unit, ...]:
        places = [one for one in sorted(shelf, reverse=True) if after is None or one < float(after)]
        return tuple([unit(one, shelf[one]) for one in places[:limit]])

    return take


def unit(place: int, number: int) -> Unit:
    told = tuple([SimpleNamespace(id=f"{place}.{one}") for one in range(number)])
    return Unit(begin=f"{place}.5", cursor=str(place), key=f"unit {place}", tell=lambda: told)


def ids_of(walked: Walked) -> list[str]:
    return [one.id for _, one in walked.matches]


def page(shelf: Shelf, mark: Mark, count: int, *, counting: bool = False) -> Walked:
    return asyncio.run(walk(source_of(shelf), mark, count, counting=counting))


def everything(shelf: Shelf) -> list[str]:
    return [
        f"{place}.{one}" for place in sorted(shelf, reverse=True) for one in range(shelf[place])
    ]


SHELVES = st.dictionaries(st.integers(0, 60), st.integers(0, 7), max_size=12)


@given(SHELVES, st.integers(1, 9), st.booleans())
def test_the_pages_together_are_everything_in_order_and_no_page_is_too_long(
    shelf: Shelf,
    count: int,
    counting: bool,  # noqa: FBT001
) -> None:
    seen: list[str] = []
    mark: Mark | None = Mark()
    while mark is not None:
        found = page(shelf, mark, count, counting=counting)
        assert len(found.matches) <= count
        assert found.total == (len(everything(shelf)) if counting else None)
        seen += ids_of(found)
        mark = found.next
        assert mark is None or found.matches
    assert seen == everything(shelf)


@given(SHELVES, SHELVES, st.integers(1, 5))
def test_what_comes_in_between_pages_neither_hides_nor_repeats_what_was_there(
    shelf: Shelf, new: Shelf, count: int
) -> None:
    there = set(everything(shelf))
    growing = dict(shelf)
    coming = [(place, number) for place, number in new.items() if place not in shelf]
    seen: list[str] = []
    mark: Mark | None = Mark()
    while mark is not None:
        found = page(growing, mark, count)
        seen += ids_of(found)
        mark = found.next
        if coming:
            place, number = coming.pop()
            growing[place] = number
    assert len(seen) == len(set(seen))
    assert there <= set(seen)


@given(SHELVES, st.integers(1, 5), st.integers(0, 40))
def test_a_unit_that_grows_at_its_end_between_pages_repeats_nothing(
    shelf: Shelf, count: int, which: int
) -> None:
    first = page(shelf, Mark(), count)
    grown = dict(shelf)
    if which in grown:
        grown[which] += 2
    seen = ids_of(first)
    mark = first.next
    while mark is not None:
        found = page(grown, mark, count)
        seen += ids_of(found)
        mark = found.next
    assert len(seen) == len(set(seen))


def test_a_page_that_finds_little_ends_where_enough_was_looked_at() -> None:
    shelf = dict.fromkeys(range(MOST_UNITS * 3), 0) | {1: 1}
    pages = 0
    seen: list[str] = []
    mark: Mark | None = Mark()
    while mark is not None:
        found = page(shelf, mark, 10)
        pages, seen, mark = pages + 1, [*seen, *ids_of(found)], found.next
    assert seen == ["1.0"]
    assert 2 <= pages <= 4


def passed(places: int) -> Source:
    """Nothing but places."""

    async def take(after: str | None, limit: int) -> tuple[Unit, ...]:
        first = 0 if after is None else int(after) + 1
        return tuple(
            [
                Unit(begin="", cursor=str(one), key=str(one), tell=lambda: (), passed=True)
                for one in range(first, min(first + limit, places))
            ]
        )

    return take


def test_what_is_passed_over_is_looked_at_ten_times_as_far_and_not_without_end() -> None:
    looked_at = MOST_UNITS * PASSED_LIGHTER
    one_page = asyncio.run(walk(passed(looked_at - 1), Mark(), 9, counting=False))
    assert (one_page.next, one_page.matches) == (None, ())
    more = asyncio.run(walk(passed(looked_at * 2), Mark(), 9, counting=False)).next
    assert more is not None
    assert int(more.cursor or 0) < looked_at * 2 - 1
    counted = asyncio.run(walk(passed(looked_at * 2), Mark(), 9, counting=True))
    assert (counted.total, counted.next) == (0, None)


def test_more_than_is_counted_leaves_the_total_open() -> None:
    shelf = dict.fromkeys(range(MOST_COUNTED * 2), 1)
    found = page(shelf, Mark(), 2, counting=True)
    assert found.total is None
    assert ids_of(found) == everything(shelf)[:2]
    assert found.next is not None


def test_the_total_of_the_first_page_is_carried_on() -> None:
    shelf = dict.fromkeys(range(9), 1)
    first = page(shelf, Mark(), 4, counting=True)
    assert first.next is not None
    shelf[20] = 5
    second = page(shelf, first.next, 4, counting=True)
    assert second.total == first.total == 9


def test_a_later_page_never_tells_what_is_left_as_the_total() -> None:
    shelf = dict.fromkeys(range(MOST_COUNTED * 2), 1)
    second = page(shelf, Mark(cursor="100"), 4, counting=True)
    assert ids_of(second) == ["99.0", "98.0", "97.0", "96.0"]
    assert second.total is None


def test_what_is_only_counted_comes_from_the_source_for_that() -> None:
    shelf = dict.fromkeys(range(90), 2)
    asked: list[str] = []

    def noting(name: str) -> Source:
        async def take(after: str | None, limit: int) -> tuple[Unit, ...]:
            asked.append(name)
            return await source_of(shelf)(after, limit)

        return take

    def walked(count: int) -> Walked:
        asked.clear()
        whole, counted = noting("whole"), noting("counted")
        return asyncio.run(walk(whole, Mark(), count, counting=True, counted=counted))

    assert walked(0).total == 180
    assert set(asked) == {"counted"}
    found = walked(3)
    assert (found.total, ids_of(found)) == (180, everything(shelf)[:3])
    assert asked[0] == "whole" and set(asked[1:]) == {"counted"}


def test_only_what_is_shown_is_made() -> None:
    made = []

    async def take(after: str | None, limit: int) -> tuple[Unit, ...]:
        begin = 0 if after is None else int(after) + 1
        return tuple([lazy(place) for place in range(begin, begin + limit)])

    def lazy(place: int) -> Unit:
        def tell() -> tuple[Any, ...]:
            made.append(place)
            return (SimpleNamespace(id=str(place)),)

        return Unit(begin=str(place - 1), cursor=str(place), key=str(place), tell=tell)

    asyncio.run(walk(take, Mark(), 3, counting=False))
    assert made == [0, 1, 2, 3]


def test_a_mark_comes_back_as_it_was() -> None:
    for mark in (Mark(), Mark("cursor", "key", "last", 7), Mark("c", "k", "l", None)):
        assert read_mark(word_of(mark)) == mark


@pytest.mark.parametrize("word", ["", "x", "e30", "W10x", "é", "WyJhIiwxXQ"])
def test_what_is_no_mark_is_refused(word: str) -> None:
    with pytest.raises(ValueError, match=r"mark|ascii"):
        read_mark(word)
