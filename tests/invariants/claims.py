"""What must hold for every possible profile? One function a claim; each gives what breaks it."""

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from service.domain.axis import Axis, Number
from service.domain.condition import Condition
from service.domain.move import Move
from service.rules.book import RuleBook
from tests.invariants.grid import (
    Answers,
    Array,
    Cuts,
    Grid,
    conditions_in,
    helper_conditions_in,
)

FLAT_DEVICES = ("slide_sheet", "lateral_board", "air_transfer_mat", "mechanical_lateral")
NO_CONDITION: frozenset[Condition] = frozenset()


def condition_sets(book: RuleBook, move: Move) -> list[frozenset[Condition]]:
    """Every set of conditions that change helper counts, alone and with each other condition."""
    rules = book.moves[move]
    counting = sorted(helper_conditions_in(rules))
    subsets = [frozenset(c) for n in range(len(counting) + 1) for c in combinations(counting, n)]
    others = sorted(conditions_in(rules) - set(counting))
    return [*subsets, *(s | {other} for s in subsets for other in others)]


def broken(answers: Answers, wrong: Array) -> Iterator[str]:
    if np.any(wrong):
        yield answers.example(wrong)


def withheld_is_not_moved(answers: Answers) -> Iterator[str]:
    """1. Withheld (or unknown) clearance: do not move, whatever else is said."""
    cleared = answers.grid.reaches(Axis.CLEARANCE, "review")
    yield from broken(answers, ~cleared & ~answers.among("do_not_move"))


def nobody_stands_without_weight_bearing(answers: Answers) -> Iterator[str]:
    """2. No method that needs standing where weight-bearing is none or unknown."""
    stands = {o.method.id: o.method.needs_standing for o in answers.grid.move.options}
    bears = answers.grid.reaches(Axis.WEIGHT_BEARING, "partial")
    yield from broken(answers, answers.flagged(stands) & ~bears)


def stand_aid_needs_what_it_needs(answers: Answers) -> Iterator[str]:
    """3. No stand aid without both arms, instructions followed, lean, and a rise not lifted."""
    grid = answers.grid
    taken = answers.among("stand_aid")
    if not np.any(taken):
        return
    for axis, grade in (
        (Axis.ARMS, "both"),
        (Axis.COOPERATION, "prompted"),
        (Axis.LEAN, "able"),
        (Axis.RISE, "with_hands"),
    ):
        yield from broken(answers, taken & ~grid.reaches(axis, grade))
    yield from broken(answers, taken & ~_lifts_at_most(grid, 0))


def uncooperative_is_carried_by_two(answers: Answers) -> Iterator[str]:
    """4. Cooperation none: only a sling lift, a flat-move device or no move, by two at least."""
    calm = answers.grid.reaches(Axis.COOPERATION, "prompted")
    allowed = answers.among("sling_lift", *FLAT_DEVICES, "do_not_move")
    yield from broken(answers, ~calm & ~(allowed & (answers.helpers >= 2)))


def nobody_lifts_too_much(answers: Answers, book: RuleBook) -> Iterator[str]:
    """5. Over 15.9 kg (or unknown) held up by a helper: only a device that carries, or no move."""
    carriers = {"powered_stand_lift", "sling_lift", "floor_air_lift", *FLAT_DEVICES}
    carriers |= {"transfer_board", "recline_and_slide", "do_not_move"}
    limit = int(book.parameters["helper_lift_limit_kg"].value * 10)
    lifts = _lifts_at_most(answers.grid, limit)
    yield from broken(answers, ~answers.among(*carriers) & ~lifts)


def less_able_is_never_asked_more(answers: Answers) -> Iterator[str]:
    """6. Along every axis and number, worse never gives less support or fewer helpers."""
    support = answers.support()
    for dimension in range(support.ndim):
        for told in (support, answers.helpers):
            rising = np.diff(told, axis=dimension) > 0
            if np.any(rising):
                padded = np.zeros(told.shape, dtype=bool)
                index = [slice(None)] * told.ndim
                index[dimension] = slice(1, None)
                padded[tuple(index)] = rising
                yield f"{answers.grid.names[dimension]}: {answers.example(padded)}"


def a_condition_never_asks_more(without: Answers, with_it: Answers) -> Iterator[str]:
    """6. Adding a condition never gives less support or fewer helpers."""
    yield from broken(with_it, with_it.support() < without.support())
    yield from broken(with_it, with_it.helpers < without.helpers)


def _lifts_at_most(grid: Grid, tenths: int) -> Array:
    if Number.HELPER_LIFT_KG not in grid.names:
        return np.array(False)
    values = grid.values[grid.names.index(Number.HELPER_LIFT_KG)]
    told = [value is not None and value <= tenths for value in values]
    return grid.along(Number.HELPER_LIFT_KG, told)


def grid_of(book: RuleBook, move: Move) -> Grid:
    """The space of ``move``, cut at least where the claims themselves look."""
    limit = int(book.parameters["helper_lift_limit_kg"].value * 10)
    extra: dict[Axis | Number, Cuts] = {
        Axis.CLEARANCE: {"review"},
        Axis.COOPERATION: {"prompted"},
        Axis.WEIGHT_BEARING: {"partial"},
        Number.HELPER_LIFT_KG: {0, limit},
    }
    if any(option.method.id == "stand_aid" for option in book.moves[move].options):
        extra |= {Axis.ARMS: {"both"}, Axis.LEAN: {"able"}, Axis.RISE: {"with_hands"}}
    return Grid(book.moves[move], extra)


def all_of(book: RuleBook, move: Move, sets: list[frozenset[Condition]]) -> Iterator[str]:
    """Every claim, over every profile of ``move`` and each set of conditions."""
    grid = grid_of(book, move)
    told = {present: grid.answer(present) for present in sets}
    for present, answers in told.items():
        yield from withheld_is_not_moved(answers)
        yield from nobody_stands_without_weight_bearing(answers)
        yield from stand_aid_needs_what_it_needs(answers)
        yield from uncooperative_is_carried_by_two(answers)
        yield from nobody_lifts_too_much(answers, book)
        yield from less_able_is_never_asked_more(answers)
        for condition in present:
            if present - {condition} in told:
                yield from a_condition_never_asks_more(told[present - {condition}], answers)
