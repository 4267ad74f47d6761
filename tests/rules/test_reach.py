"""Is it known which methods can be chosen, and which only for want of another's device?"""

import pytest
from msgspec.structs import replace

from service.domain.axis import Axis, Number
from service.domain.citation import Citation, Standing
from service.domain.condition import Condition
from service.domain.move import Move
from service.domain.requirement import Absent, AnyOf, Limit, Need, Requirement
from service.rules.book import MoveRules
from service.rules.load import load_book
from service.rules.reach import Reach, reaches
from tests.invariants.grid import Grid

CITED = Citation("common_practice", Standing.PRACTICE)
BOTH = Need("a", Axis.ARMS, "both", "why", CITED)
ONE = Need("a", Axis.ARMS, "one", "why", CITED)
NO_STOMA = Absent("a", Condition.STOMA, "why", CITED)


def mass(comparison: str, tenths: int) -> Limit:
    return Limit("a", Number.MASS_KG, comparison, "p", tenths, "why", CITED)


def stood(tenths: int) -> Limit:
    return Limit("a", Number.STANDING_TIME_S, "at_least", "p", tenths, "why", CITED)


def of(*requires: tuple[Requirement, ...]) -> list[Reach]:
    """Options with these requirements, in this order; the first two have a device each."""
    move = load_book().moves[Move.BED_TO_STRETCHER]
    named = {option.method.id: option for option in move.options}
    methods = ("slide_sheet", "lateral_board", "standby")
    options = tuple(
        replace(named[method], requires=each)
        for method, each in zip(methods, requires, strict=False)
    )
    return list(reaches(replace(move, options=options)))


@pytest.mark.parametrize(
    ("first", "second", "before"),
    [
        ((BOTH,), (ONE,), ()),
        ((ONE,), (BOTH,), ("slide_sheet",)),
        ((BOTH, NO_STOMA), (BOTH,), ()),
        ((NO_STOMA,), (NO_STOMA,), ("slide_sheet",)),
        ((stood(100),), (stood(50),), ()),
        ((stood(50),), (stood(100),), ("slide_sheet",)),
        ((mass("below", 770),), (mass("at_most", 770),), ()),
        ((mass("at_most", 770),), (mass("below", 770),), ("slide_sheet",)),
        ((AnyOf("a", (BOTH, NO_STOMA), "why", CITED),), (BOTH,), ("slide_sheet",)),
        ((AnyOf("a", (BOTH, NO_STOMA), "why", CITED),), (ONE,), ()),
        # met by the arms alone the second leaves the first shut, met without a stoma it does not
        ((NO_STOMA,), (AnyOf("a", (NO_STOMA, BOTH), "why", CITED),), ()),
        ((), (), ("slide_sheet",)),
    ],
)
def test_a_method_is_reached_where_the_one_before_can_be_shut(
    first: tuple[Requirement, ...], second: tuple[Requirement, ...], before: tuple[str, ...]
) -> None:
    assert of(first, second)[1].before == before


def test_a_method_behind_one_with_a_device_waits_for_the_device_to_be_missing() -> None:
    assert of((ONE,), (BOTH,))[1] == Reach("lateral_board", ("slide_sheet",), ever=True)


def test_a_method_behind_one_without_a_device_is_never_chosen() -> None:
    move = load_book().moves[Move.BED_TO_STRETCHER]
    standby = next(each for each in move.options if each.method.id == "standby")
    easy = replace(standby, requires=())
    found = list(reaches(replace(move, options=(easy, *move.options))))
    assert [each.ever for each in found] == [True] + [False] * len(move.options)


def chosen_somewhere(move: MoveRules) -> set[str]:
    """By the enumeration, without any condition and with each alone, or all at once."""
    grid = Grid(move)
    sets = [
        frozenset[Condition](),
        *(frozenset({each}) for each in Condition),
        frozenset(Condition),
    ]
    places = {int(place) for present in sets for place in set(grid.answer(present).chosen.flat)}
    return {move.options[place].method.id for place in places}


@pytest.mark.parametrize("move", [Move.BED_TO_STRETCHER, Move.WALK, Move.REPOSITION_IN_BED])
def test_the_enumeration_finds_the_same(move: Move) -> None:
    rules = load_book().moves[move]
    assert {each.method for each in reaches(rules) if not each.before} == chosen_somewhere(rules)
