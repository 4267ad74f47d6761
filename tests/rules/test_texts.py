"""Do the sentences say the numbers that the rules hold to?"""

from decimal import Decimal

import pytest
from msgspec.structs import replace

from service.rules.load import HERE, load_book
from service.rules.reading import read_files
from service.rules.texts import NAMED, filled, spoken, unfilled, with_pounds, written

FILES = read_files(HERE)
PARAMETERS = load_book().parameters
POUND = Decimal("0.45359237")  # kg, exactly, since 1959


@pytest.mark.parametrize(
    ("value", "said"), [("90.70", "90.7"), ("1E+2", "100"), ("60", "60"), ("0.6", "0.6")]
)
def test_a_number_is_said_without_exponent_or_idle_zeros(value: str, said: str) -> None:
    parameter = replace(next(iter(PARAMETERS.values())), value=Decimal(value))
    assert written(parameter) == said


def test_every_name_in_braces_is_a_parameter_and_is_filled() -> None:
    assert spoken(FILES)
    assert list(unfilled(FILES, PARAMETERS)) == []
    assert spoken(filled(FILES, PARAMETERS)) == set()


def test_a_name_that_is_no_parameter_stays_and_is_told() -> None:
    (name, *_) = sorted(spoken(FILES))
    fewer = {key: value for key, value in PARAMETERS.items() if key != name}
    assert list(unfilled(FILES, fewer)) == [
        f"a sentence names `{{{name}}}`: no parameter is called so"
    ]
    assert spoken(filled(FILES, fewer)) == {name}


def test_only_the_named_words_change() -> None:
    before, after = FILES.plan.goals, filled(FILES, PARAMETERS).plan.goals
    for old, new in zip(before, after, strict=True):
        assert (old.id, old.unless) == (new.id, new.unless)
        assert NAMED.sub("#", old.text).count("#") == len(NAMED.findall(old.text))
        assert not NAMED.findall(new.text)


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("Up to 64 kg.", "Up to 64 kg (141 lb)."),  # 141.1: an upper limit stays one
        ("From 77 kg on", "From 77 kg (169 lb) on"),  # 169.8: heavy no later
        ("90.7 kg or 64 kg", "90.7 kg (199 lb) or 64 kg (141 lb)"),
        ("Up to 64 kg (141 lb).", "Up to 64 kg (141 lb)."),
        ("10 kgf and 5 cm", "10 kgf and 5 cm"),
    ],
)
def test_pounds_stand_beside_every_mass_that_is_said(said: str, told: str) -> None:
    move = replace(FILES.moves["walk"], plain=said)
    both = with_pounds(replace(FILES, moves=FILES.moves | {"walk": move}), POUND)
    assert both.moves["walk"].plain == told
    assert both.moves["walk"].methods == FILES.moves["walk"].methods
