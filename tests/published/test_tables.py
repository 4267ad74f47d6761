"""Does everybody in a row of the published tables get one of its methods, or more support?"""

from decimal import ROUND_CEILING, Decimal
from functools import cache

import numpy as np
import pytest

from service.domain.axis import Axis, Number
from service.domain.condition import Condition
from service.domain.move import Move
from service.rules.load import load_book
from tests.invariants.claims import grid_of
from tests.invariants.grid import Answers, Array, Cuts, Grid
from tests.published.bounds import Bound, Mass, Row
from tests.published.rows import ROWS

SUPPORT = {name: method.support for name, method in load_book().methods.items()}


def within(row: Row, grid: Grid) -> Array:
    """Where in the space somebody falls in the row."""
    told = np.ones(grid.shape, dtype=bool)
    for bound in row.where:
        told = told & (_reached(bound, grid) == bound.reached)
    return told


def _reached(bound: Bound | Mass, grid: Grid) -> Array:
    if isinstance(bound, Bound):
        return grid.reaches(bound.axis, bound.grade)
    tenths = int(bound.kg * 10)
    values = grid.values[grid.names.index(Number.MASS_KG)]
    return grid.along(Number.MASS_KG, [value is None or value >= tenths for value in values])


def breaks(row: Row, answers: Answers) -> Array:
    """Where the answer is less supported than every method of the row, or has too few helpers."""
    least = min(SUPPORT[method] for method in row.methods)
    in_row = within(row, answers.grid)
    return in_row & ((answers.support() < least) | (answers.helpers < row.helpers))


CASES = [pytest.param(row, move, id=f"{move}: {row.says}") for row in ROWS for move in row.moves]


@pytest.mark.parametrize(("row", "move"), CASES)
def test_every_profile_of_the_row_gets_its_method_or_more_support(row: Row, move: Move) -> None:
    answers = answers_of(move, row.present)
    assert np.any(within(row, answers.grid)), "no profile falls in this row"
    wrong = breaks(row, answers)
    assert not np.any(wrong), answers.example(wrong)


@pytest.mark.parametrize(("row", "move"), CASES)
def test_the_row_is_reached_by_the_able_of_it(row: Row, move: Move) -> None:
    """The tables are not met by putting everybody in a sling: somebody in each row gets exactly
    a method of the row, with every means at hand."""
    answers = answers_of(move, row.present)
    assert np.any(within(row, answers.grid) & answers.among(*row.methods))


@cache
def answers_of(move: Move, present: frozenset[Condition]) -> Answers:
    """The answers over the space of the move, cut also where the rows look."""
    book = load_book()
    cuts: dict[Axis | Number, Cuts] = dict(grid_of(book, move).extra)
    cuts |= {Axis.WEIGHT_BEARING: {"partial", "full"}, Axis.ARMS: {"both"}}
    cuts[Number.MASS_KG] = {453, 454, 710, 711, 769, 770, 906, 907}
    return Grid(book.moves[move], cuts).answer(present)


@pytest.mark.parametrize(
    ("mass_kg", "share_unsupported", "helpers"),
    # Waters 2007: 180 lb bearing half gives three helpers' worth, so equipment (180 lb = 81.6 kg)
    [("81.6", "0.5", 3), ("31.8", "0.5", 1), ("31.9", "0.5", 2)],
)
def test_the_lift_limit_asks_for_equipment(
    mass_kg: str, share_unsupported: str, helpers: int
) -> None:
    limit = load_book().parameters["helper_lift_limit_kg"].value
    load = Decimal(mass_kg) * Decimal(share_unsupported) / limit
    assert int(load.to_integral_value(ROUND_CEILING)) == helpers
