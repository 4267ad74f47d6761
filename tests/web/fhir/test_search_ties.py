"""Does each resource stand at one place by all keys, and is that place found again?"""

from datetime import UTC, datetime, timedelta
from functools import partial
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.problem import Refused
from service.fhir.search_control import Order
from service.web.fhir.search_ties import Ties

START = datetime(2026, 3, 4, tzinfo=UTC)
KEYS = ("date", "_lastUpdated", "_id")


def observation(observed: int, changed: int, name: str) -> Any:
    return SimpleNamespace(
        id=name,
        effective_date_time=START + timedelta(seconds=observed),
        meta=SimpleNamespace(last_updated=START + timedelta(seconds=changed)),
    )


ORDERS = st.permutations(KEYS).flatmap(
    lambda names: st.tuples(*[st.builds(Order, st.just(name), st.booleans()) for name in names])
)
SEEN = st.lists(
    st.builds(observation, st.integers(0, 3), st.integers(0, 3), st.text("ab-", max_size=3)),
    max_size=9,
)


def raw(key: str, one: Any) -> Any:
    return {"date": one.effective_date_time, "_lastUpdated": one.meta.last_updated, "_id": one.id}[
        key
    ]


@given(ORDERS, SEEN)
def test_it_is_sorted_by_each_key_in_its_direction(
    orders: tuple[Order, ...], seen: list[Any]
) -> None:
    expected = list(seen)
    for order in orders[::-1]:
        expected.sort(key=partial(raw, order.name), reverse=order.newest_first)
    told = sorted(seen, key=Ties("Observation", orders).place)
    keys = [[raw(key, one) for key in KEYS] for one in told]
    assert keys == [[raw(key, one) for key in KEYS] for one in expected]


@given(ORDERS, SEEN)
def test_a_place_comes_back_as_it_was(orders: tuple[Order, ...], seen: list[Any]) -> None:
    ties = Ties("Observation", orders)
    for one in seen:
        assert ties.place_of(ties.place(one).word) == ties.place(one)


def test_without_the_id_among_the_keys_the_id_decides_in_the_end() -> None:
    ties = Ties("Observation", (Order("date", newest_first=True),))
    first, second = observation(1, 5, "a"), observation(1, 2, "b")
    assert ties.place(first) < ties.place(second)
    assert not ties.place(second) < ties.place(first)
    assert not ties.place(first) < ties.place(first)


@pytest.mark.parametrize("word", ["", "x", "[]", "[1]", '["a",1]', "[1,1]", '[1,"a","b"]', "{}"])
def test_what_is_no_place_is_refused(word: str) -> None:
    ties = Ties("Observation", (Order("date", newest_first=True),))
    with pytest.raises(Refused):
        ties.place_of(word)
