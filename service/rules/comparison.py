"""Does a value hold against a cut point, exactly as the source writes it?"""

import operator
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Literal

Holds = Literal["<", "<=", ">", ">="]

_OPERATORS: dict[str, Callable[[Fraction, Fraction], bool]] = {
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
}
_SIGNS: dict[str, str] = {"<": "<", "<=": "≤", ">": ">", ">=": "≥"}


def holds(seen: Fraction, comparison: Holds, cut: Decimal) -> bool:
    """Fractions, so that no rounding ever moves a value over a cut point."""
    return _OPERATORS[comparison](seen, Fraction(cut))


def written(comparison: Holds, cut: Decimal) -> str:
    return f"{_SIGNS[comparison]} {cut}"
