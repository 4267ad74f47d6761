"""Who is somebody about whom nothing is fixed yet, as a solver sees them?"""

from decimal import Decimal
from typing import Any, TypeAlias

import z3

from service.domain.axis import GRADES, RANK, Axis, Number
from service.domain.condition import Condition
from service.domain.profile import AxisGrade, NumberSeen, Profile
from service.domain.requirement import Absent, Limit, Need, Requirement
from tests.invariants.grid import HIGHER_IS_WORSE

# z3 comes without types: a formula, a number of the solver, a found model.
Formula: TypeAlias = Any
Model: TypeAlias = Any

TENTHS = 10


class Person:
    """Somebody about whom nothing is fixed yet."""

    def __init__(self, name: str) -> None:
        self.grades = {axis: z3.Int(f"{name}.{axis}") for axis in Axis}
        self.numbers = {number: z3.Real(f"{name}.{number}") for number in Number}
        self.known = {number: z3.Bool(f"{name}.{number}.known") for number in Number}
        self.present = {each: z3.Bool(f"{name}.{each}") for each in Condition}

    def possible(self) -> Formula:
        """Each grade is one of its axis; numbers, in tenths, are not negative."""
        within = [
            z3.And(grade >= 0, grade < len(GRADES[axis])) for axis, grade in self.grades.items()
        ]
        return z3.And(*within, *(value >= 0 for value in self.numbers.values()))

    def reaches(self, axis: Axis, grade: str) -> Formula:
        return self.grades[axis] >= RANK[axis][grade]

    def holds(self, requirement: Requirement) -> Formula:
        if isinstance(requirement, Need):
            return self.reaches(requirement.axis, requirement.grade)
        if isinstance(requirement, Absent):
            return z3.Not(self.present[requirement.condition])
        if isinstance(requirement, Limit):
            seen, value = self.numbers[requirement.number], requirement.value
            inside = {"at_least": seen >= value, "at_most": seen <= value, "below": seen < value}
            return z3.And(self.known[requirement.number], inside[requirement.comparison])
        return z3.Or(*(self.holds(part) for part in requirement.parts))

    def no_better_than(self, other: "Person") -> Formula:
        """On every axis and number as able or less, unknown least, and no condition fewer."""
        told = [self.grades[axis] <= other.grades[axis] for axis in Axis]
        for number in Number:
            mine, theirs = self.numbers[number], other.numbers[number]
            worse = mine >= theirs if number in HIGHER_IS_WORSE else mine <= theirs
            known = self.known[number]
            told.append(z3.Or(z3.Not(known), z3.And(other.known[number], worse)))
        told += [z3.Implies(other.present[each], self.present[each]) for each in Condition]
        return z3.And(*told)

    def less_known_than(self, other: "Person") -> Formula:
        """The same person, with any axes and numbers no longer known."""
        told = [z3.Or(self.grades[a] == 0, self.grades[a] == other.grades[a]) for a in Axis]
        for number in Number:
            same = self.numbers[number] == other.numbers[number]
            told.append(z3.And(same, z3.Implies(self.known[number], other.known[number])))
        told += [self.present[each] == other.present[each] for each in Condition]
        return z3.And(*told)

    def found(self, model: Model) -> Profile:
        """The person of ``model``."""

        return Profile(
            {axis: AxisGrade(GRADES[axis][whole_value(model, self.grades[axis])]) for axis in Axis},
            {
                each: NumberSeen(known_value(model, self.known[each], self.numbers[each]))
                for each in Number
            },
            {each: () for each in Condition if is_true(model, self.present[each])},
        )

    def told(self, model: Model) -> dict[str, str]:
        """Every axis, number and present condition of the person found."""
        found = self.found(model)
        words = {str(axis): found.grade(axis) for axis in Axis}
        words |= {
            n: str("unknown" if v.value is None else v.value) for n, v in found.numbers.items()
        }
        return words | dict.fromkeys(found.conditions, "present")


def whole_value(model: Model, term: Formula) -> int:
    return int(model.eval(term, model_completion=True).as_long())


def is_true(model: Model, formula: Formula) -> bool:
    return bool(z3.is_true(model.eval(formula, model_completion=True)))


def known_value(model: Model, known: Formula, tenths: Formula) -> Decimal | None:
    """A number of the model, held in tenths, in its unit; None where it is not known."""
    if not is_true(model, known):
        return None
    value = model.eval(tenths, model_completion=True).as_fraction()
    return Decimal(value.numerator) / Decimal(value.denominator * TENTHS)
