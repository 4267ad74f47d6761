"""Is a value held against a cut point as the source writes it, with nothing rounded?"""

from decimal import Decimal
from fractions import Fraction

import pytest

from service.rules.comparison import Holds, holds, written


@pytest.mark.parametrize(
    ("comparison", "expected"),
    [
        ("<", [True, False, False]),
        ("<=", [True, True, False]),
        (">", [False, False, True]),
        (">=", [False, True, True]),
    ],
)
def test_each_comparison_is_strict_where_it_is_written_strict(
    comparison: Holds, expected: list[bool]
) -> None:
    cut = Decimal("0.8")
    hair = Fraction(1, 10**40)
    around = [Fraction(4, 5) - hair, Fraction(4, 5), Fraction(4, 5) + hair]
    assert [holds(seen, comparison, cut) for seen in around] == expected


def test_a_cut_point_is_written_with_the_digits_of_its_source() -> None:
    assert written("<=", Decimal("6.20")) == "≤ 6.20"
    assert written(">", Decimal(15)) == "> 15"
