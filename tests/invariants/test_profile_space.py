"""Do the safety claims hold for every profile that the rules can tell apart, without sampling?"""

from collections.abc import Callable
from random import Random

import numpy as np
import pytest
from msgspec.structs import replace

from service.domain.axis import Number
from service.domain.condition import Condition
from service.domain.context import Context
from service.domain.move import Move
from service.domain.requirement import Absent, Limit, Requirement
from service.rules.book import MoveRules, Option
from service.rules.evaluate import Judge
from service.rules.load import load_book
from service.rules.means import helper_count
from service.rules.select import select
from tests.invariants.claims import all_of, condition_sets, grid_of
from tests.invariants.grid import HIGHER_IS_WORSE, NOBODY, atoms_of
from tests.invariants.weakened import WEAKENED, weakened

SEATED = [
    Move.BED_TO_CHAIR,
    Move.CHAIR_TO_BED,
    Move.CHAIR_TO_CHAIR,
    Move.CHAIR_TO_TOILET,
    Move.TOILET_TO_CHAIR,
    Move.CHAIR_TO_CAR,
    Move.CAR_TO_CHAIR,
]
DIFFERENT = [Move.BED_TO_CHAIR, *(move for move in Move if move not in SEATED)]
NOTHING_PRESENT: list[frozenset[Condition]] = [frozenset()]


@pytest.mark.parametrize("move", DIFFERENT)
def test_every_claim_holds_for_every_profile(move: Move) -> None:
    book = load_book()
    assert list(all_of(book, move, condition_sets(book, move))) == []


def test_the_seven_seated_moves_rest_on_the_same_rules() -> None:
    """So one of them stands for all in the enumeration above."""

    def bare(move: Move) -> list[tuple[str, list[str], list[str]]]:
        rules = load_book().moves[move]
        return [
            (
                option.method.id,
                [str(replace(each, rule="", why="")) for each in option.requires],
                [str((rule.unless, rule.at_least, rule.add)) for rule in option.more_helpers],
            )
            for option in rules.options
        ]

    assert all(bare(move) == bare(Move.BED_TO_CHAIR) for move in SEATED)


@pytest.mark.parametrize("move", Move)
def test_every_limit_points_towards_caution(move: Move) -> None:
    """A load may only be limited from above, a time only from below: then a worse number can
    only close a method."""
    for atom in atoms_of(load_book().moves[move]):
        if isinstance(atom, Limit):
            from_above = atom.comparison in ("at_most", "below")
            assert from_above == (atom.number in HIGHER_IS_WORSE), atom


@pytest.mark.parametrize("move", DIFFERENT)
def test_the_service_gives_the_answers_of_the_space(move: Move) -> None:
    """The arrays above and the service's evaluator are two readings of one declaration."""
    book, random = load_book(), Random(str(move))  # noqa: S311
    grid = grid_of(book, move)
    sets = condition_sets(book, move)
    for _ in range(40):
        present = random.choice(sets)
        answers = grid.answer(present)
        for _ in range(5):
            where = tuple(random.randrange(size) for size in grid.shape)
            judge = Judge(grid.profile(where, present))
            choice = select(book, book.moves[move], judge, Context())
            index = int(answers.chosen[where])
            assert choice.option.method.id == book.moves[move].options[index].method.id
            count, _ = helper_count(choice.option, judge)
            assert (NOBODY if count is None else count) == int(answers.helpers[where])


@pytest.mark.parametrize(("move", "method", "drop"), WEAKENED)
def test_a_weakened_rule_breaks_a_claim(
    move: Move, method: str, drop: Callable[[Requirement], bool]
) -> None:
    book = weakened(load_book(), move, method, drop)
    assert list(all_of(book, move, NOTHING_PRESENT)) != []


def test_a_limit_turned_round_breaks_monotony() -> None:
    """6. A rule that a worse person could newly meet is found."""
    book = load_book()
    rules = book.moves[Move.REPOSITION_IN_BED]

    def turned(option: Option) -> Option:
        return replace(
            option,
            requires=tuple(
                replace(each, comparison="at_least")
                if isinstance(each, Limit) and each.number == Number.MASS_KG
                else each
                for each in option.requires
            ),
        )

    moves = dict(book.moves)
    moves[Move.REPOSITION_IN_BED] = replace(rules, options=tuple(map(turned, rules.options)))
    found = all_of(replace(book, moves=moves), Move.REPOSITION_IN_BED, NOTHING_PRESENT)
    assert any(each.startswith("mass_kg") for each in found)


def test_fewer_helpers_for_a_heavier_person_are_found() -> None:
    """6. The third helper is dropped from the sheet but kept on the air mat."""
    book = load_book()
    rules = book.moves[Move.BED_TO_STRETCHER]

    def eased(option: Option) -> Option:
        if option.method.id == "slide_sheet":
            return option
        return replace(option, more_helpers=())

    moves = dict(book.moves)
    moves[Move.BED_TO_STRETCHER] = replace(rules, options=tuple(map(eased, rules.options)))
    eased_book = replace(book, moves=moves)
    sets = [frozenset(), frozenset({Condition.PRESSURE_INJURY})]
    assert list(all_of(eased_book, Move.BED_TO_STRETCHER, sets)) != []


def test_a_condition_that_opened_a_method_is_found() -> None:
    """6. A forbidding condition dropped from a less supported method lets it come back."""
    book = load_book()
    rules: MoveRules = book.moves[Move.BED_TO_CHAIR]
    grid = grid_of(book, Move.BED_TO_CHAIR)
    present = frozenset({Condition.STERNAL_PRECAUTION})
    before, after = grid.answer(frozenset()), grid.answer(present)
    assert np.any(after.support() > before.support())
    forbidding = [o.method.id for o in rules.options if _forbids(o, Condition.STERNAL_PRECAUTION)]
    assert forbidding == ["stand_aid", "powered_stand_lift", "transfer_board"]


def _forbids(option: Option, condition: Condition) -> bool:
    return any(isinstance(r, Absent) and r.condition == condition for r in option.requires)
