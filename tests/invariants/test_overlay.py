"""Do the safety claims hold under every overlay that a hospital may lay over the book?"""

from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from service.domain.citation import Standing
from service.domain.condition import Condition
from service.domain.move import Move
from service.rules.files import Parameter
from service.rules.load import HERE, freeze, read_book
from service.rules.overlay import ref_with, with_overlay
from service.rules.parameters import parameter_faults
from service.rules.reading import BadRuleBook, read_files
from tests.invariants.claims import all_of

FILES, BOOK = read_files(HERE), read_book(HERE)
SETS = [frozenset[Condition](), frozenset({Condition.VERY_HEAVY}), frozenset({Condition.STOMA})]
HEAD = 'title = "Drawn"\nversion = "v1"\ndecided_by = "Nobody"\n'


def room(parameter: Parameter) -> tuple[Decimal, Decimal]:
    """From where to where an overlay may set it. Without a bound it stays where it is."""
    value, free = parameter.value, parameter.standing == Standing.DEFAULT
    low = parameter.lowest if free or parameter.stricter == "lower" else None
    high = parameter.highest if free or parameter.stricter == "higher" else None
    return (value if low is None else low), (value if high is None else high)


@st.composite
def changes(draw: st.DrawFn) -> dict[str, Decimal]:
    """One to five parameters, each anywhere in its room, in the order the book asks for."""
    names = sorted(BOOK.parameters)
    chosen = draw(st.lists(st.sampled_from(names), min_size=1, max_size=5, unique=True))
    drawn: dict[str, Decimal] = {}
    for name in chosen:
        low, high = room(BOOK.parameters[name])
        digits = -int(BOOK.parameters[name].value.as_tuple().exponent)
        unit = Decimal(1).scaleb(-digits)
        steps = int((high - low) / unit)
        drawn[name] = low + unit * draw(st.sampled_from([0, steps]) | st.integers(0, steps))
    told = {
        name: replace(parameter, value=drawn.get(name, parameter.value))
        for name, parameter in BOOK.parameters.items()
    }
    assume(not list(parameter_faults(told)))
    return drawn


def written(drawn: dict[str, Decimal]) -> bytes:
    tables = (
        f'[parameters.{name}]\nvalue = "{value}"\nunit = "{BOOK.parameters[name].unit}"\n'
        'why = "Drawn"\n'
        for name, value in drawn.items()
    )
    return (HEAD + "".join(tables)).encode()


@pytest.mark.parametrize("move", [Move.CHAIR_TO_STRETCHER, Move.REPOSITION_IN_BED, Move.WALK])
@settings(max_examples=15, deadline=None)
@given(drawn=changes())
def test_every_claim_holds_under_every_legal_overlay(move: Move, drawn: dict[str, Decimal]) -> None:
    content = written(drawn)
    book = freeze(with_overlay(FILES, content, "drawn.toml"), ref_with(BOOK.ref, content))
    assert {name: book.parameters[name].value for name in drawn} == drawn
    assert list(all_of(book, move, SETS)) == []


@settings(max_examples=40, deadline=None)
@given(name=st.sampled_from(sorted(BOOK.parameters)), steps=st.integers(1, 50))
def test_no_step_to_the_looser_side_of_a_source_is_let_through(name: str, steps: int) -> None:
    parameter = BOOK.parameters[name]
    assume(parameter.standing != Standing.DEFAULT)
    looser = -steps if parameter.stricter == "higher" else steps
    content = written({name: parameter.value + looser})
    with pytest.raises(BadRuleBook):
        with_overlay(FILES, content, "drawn.toml")
