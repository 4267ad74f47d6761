"""Is nobody, on any move, answered by a method without what the design asks for it?"""

import pytest

from service.domain.move import Move
from service.rules.load import load_book
from tests.invariants.proofs import Case
from tests.published import method_table as table
from tests.published.method_proof import understaffed, unfit


@pytest.mark.parametrize("move", Move)
def test_everybody_brings_what_their_method_asks(move: Move) -> None:
    assert unfit(Case(load_book(), move)) is None


@pytest.mark.parametrize("move", Move)
def test_nobody_is_moved_by_too_few(move: Move) -> None:
    assert understaffed(Case(load_book(), move)) is None


def test_the_table_speaks_of_every_method_that_moves_somebody() -> None:
    assert set(table.HELPERS) == set(load_book().methods) - {"do_not_move"}
    named = {*table.BRINGS, *(name for names in table.FORBIDS.values() for name in names)}
    assert named <= set(table.HELPERS)
