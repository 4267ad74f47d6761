"""What can the person do today, axis by axis, and which findings and orders say so?"""

from decimal import Decimal

from msgspec import Struct

from service.domain.axis import UNKNOWN, Axis, Number
from service.domain.citation import Standing
from service.domain.condition import Condition


class Finding(Struct, frozen=True):
    """One recorded fact that set a grade: its place in the screen (JSON Pointer), the value
    seen, and the rule that read it with its source. ``limit`` is the value it was held against."""

    path: str
    seen: str
    rule: str
    source: str
    standing: Standing
    limit: str | None = None


class AxisGrade(Struct, frozen=True):
    grade: str
    set_by: tuple[Finding, ...] = ()


class NumberSeen(Struct, frozen=True):
    """``value`` in the unit of the number's name; null = unknown."""

    value: Decimal | None
    set_by: tuple[Finding, ...] = ()


class Profile(Struct, frozen=True):
    """Every axis with exactly one grade, every number, and the conditions that are present."""

    axes: dict[Axis, AxisGrade]
    numbers: dict[Number, NumberSeen]
    conditions: dict[Condition, tuple[Finding, ...]]

    def grade(self, axis: Axis) -> str:
        return self.axes[axis].grade

    def tenths(self, number: Number) -> int | None:
        """The number in whole tenths of its unit; None = unknown."""
        value = self.numbers[number].value
        return None if value is None else int(value * 10)

    def has(self, condition: Condition) -> bool:
        return condition in self.conditions

    def known(self, axis: Axis) -> bool:
        return self.axes[axis].grade != UNKNOWN
