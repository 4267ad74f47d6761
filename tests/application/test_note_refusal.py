"""Is a refusal noted once, and without a word of what was sent?"""

import pytest

from service.application.note_refusal import is_noted, outcome_of, refused
from service.application.ports import Undone
from service.domain.problem import NotFound, Problem, Refused, StaleVersion, Unavailable
from tests.application.made import House


async def test_a_refusal_is_noted_by_its_kind_alone(house: House) -> None:
    problem = Refused("A mass of 71.5 kg cannot be.")
    assert await refused(house.service, house.call, "screen.record", problem, "p-1") is problem
    assert house.told_last() == ("screen.record", "Refused", "p-1", None)
    assert "71.5" not in repr(house.records.entries)
    assert is_noted(problem)


@pytest.mark.parametrize(
    ("problem", "word"),
    [(NotFound("x"), "not_found"), (StaleVersion("x"), "StaleVersion"), (Refused("x"), "Refused")],
)
def test_each_kind_has_its_word(problem: Problem, word: str) -> None:
    assert outcome_of(problem) == word
    assert not is_noted(problem)


def test_what_came_of_a_noted_refusal_is_noted_too() -> None:
    first, second, third = NotFound("x"), Refused("y"), Refused("z")
    first.noted = True
    second.__cause__ = first
    third.__cause__ = Undone({0: first})
    assert is_noted(second)
    assert is_noted(third)
    assert not is_noted(None)


async def test_where_it_cannot_be_noted_that_is_what_is_told(house: House) -> None:
    house.records.busy = True
    problem = NotFound("x")
    with pytest.raises(Unavailable):
        await refused(house.service, house.call, "plan.read", problem)
    assert not problem.noted
