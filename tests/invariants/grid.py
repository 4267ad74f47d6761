"""Which answers does a move give over the whole space of profiles its rules can tell apart?

Two grades that no requirement of the move separates give the same answer, so each axis and
number is cut only where some requirement of the move, or a claim about it, cuts it. Each class
stands by the one value at its better edge, the worst class by unknown. The space is the product
of those classes, once for every set of conditions asked for. Requirements are evaluated here a
second time, over arrays, apart from the service's evaluator; both are compared on drawn profiles.
"""

import operator
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from functools import reduce
from typing import Any

import numpy as np

from service.domain.axis import GRADES, RANK, Axis, Number
from service.domain.condition import Condition
from service.domain.profile import AxisGrade, NumberSeen, Profile
from service.domain.requirement import Absent, AnyOf, Limit, Need, Requirement
from service.rules.book import MoveRules, Option

Cuts = set[Any]
Array = np.ndarray[Any, np.dtype[Any]]

NOBODY = 99
"""Stands for the helpers of a move that is not done: more than any count."""

HIGHER_IS_WORSE = {Number.MASS_KG, Number.HELPER_LIFT_KG, Number.LEG_MASS_KG}


def atoms(requirement: Requirement) -> Iterator[Need | Limit | Absent]:
    """The simple requirements inside ``requirement``."""
    if isinstance(requirement, AnyOf):
        yield from requirement.parts
    else:
        yield requirement


def atoms_of(move: MoveRules) -> list[Need | Limit | Absent]:
    """Every simple requirement that can change the answer or its helpers."""
    found = [atom for o in move.options for r in o.requires for atom in atoms(r)]
    for option in move.options:
        for rule in option.more_helpers:
            if rule.unless is not None:
                found += atoms(rule.unless)
    return found


def conditions_in(move: MoveRules) -> set[Condition]:
    return {atom.condition for atom in atoms_of(move) if isinstance(atom, Absent)}


def helper_conditions_in(move: MoveRules) -> set[Condition]:
    return {
        atom.condition
        for option in move.options
        for rule in option.more_helpers
        if rule.unless is not None
        for atom in atoms(rule.unless)
        if isinstance(atom, Absent)
    }


@dataclass
class Grid:
    """The classes of one move, each dimension from worst to best; None is an unknown number."""

    move: MoveRules
    extra: dict[Axis | Number, Cuts] = field(default_factory=dict)

    def __post_init__(self) -> None:
        cuts: dict[Axis | Number, Cuts] = {}
        for atom in atoms_of(self.move):
            if isinstance(atom, Need):
                cuts.setdefault(atom.axis, set()).add(atom.grade)
            if isinstance(atom, Limit):
                edge = atom.value - 1 if atom.comparison == "below" else atom.value
                cuts.setdefault(atom.number, set()).add(edge)
        for about, values in self.extra.items():
            cuts.setdefault(about, set()).update(values)
        self.names = sorted(cuts, key=str)
        self.values = [self._ordered(name, cuts[name]) for name in self.names]
        self.shape = tuple(len(values) for values in self.values)

    def _ordered(self, name: Axis | Number, found: Cuts) -> list[Any]:
        if isinstance(name, Axis):
            return sorted(found | {GRADES[name][0]}, key=RANK[name].__getitem__)
        return [None, *sorted(found, reverse=name in HIGHER_IS_WORSE)]

    def along(self, name: Axis | Number, told: list[Any]) -> Array:
        """``told``, one entry a class of ``name``, laid along its dimension."""
        position = self.names.index(name)
        shape = [1] * len(self.names)
        shape[position] = len(told)
        return np.array(told).reshape(shape)

    def reaches(self, axis: Axis, grade: str) -> Array:
        """Where ``axis`` is at least at ``grade``."""
        rank = RANK[axis]
        values = self.values[self.names.index(axis)]
        return self.along(axis, [rank[value] >= rank[grade] for value in values])

    def holds(self, requirement: Requirement, present: frozenset[Condition]) -> Array:
        """Where ``requirement`` holds, with the conditions ``present``."""
        if isinstance(requirement, Absent):
            return np.array(requirement.condition not in present)
        if isinstance(requirement, Need):
            return self.reaches(requirement.axis, requirement.grade)
        if isinstance(requirement, Limit):
            values = self.values[self.names.index(requirement.number)]
            compare = {"at_least": operator.ge, "at_most": operator.le, "below": operator.lt}
            inside = compare[requirement.comparison]
            told = [value is not None and inside(value, requirement.value) for value in values]
            return self.along(requirement.number, told)
        parts = [self.holds(part, present) for part in requirement.parts]
        return reduce(np.logical_or, parts)

    def answer(self, present: frozenset[Condition]) -> "Answers":
        """The chosen option and its helpers for every profile of the space."""
        chosen = np.full(self.shape, len(self.move.options) - 1, dtype=np.int8)
        for index in range(len(self.move.options) - 2, -1, -1):
            requires = self.move.options[index].requires
            is_open = reduce(
                np.logical_and, (self.holds(each, present) for each in requires), np.array(True)
            )
            chosen = np.where(is_open, np.int8(index), chosen)
        helpers = np.full(self.shape, NOBODY, dtype=np.int8)
        for index, option in enumerate(self.move.options):
            if option.method.helpers is not None:
                count = self._helpers(option, option.method.helpers, present)
                helpers = np.where(chosen == index, count, helpers).astype(np.int8)
        return Answers(self, chosen, helpers)

    def _helpers(self, option: Option, base: int, present: frozenset[Condition]) -> Array:
        floor, extra = np.array(base), np.array(0)
        for rule in option.more_helpers:
            due = np.array(True) if rule.unless is None else ~self.holds(rule.unless, present)
            floor = np.where(due, np.maximum(floor, rule.at_least), floor)
            extra = np.where(due, extra + rule.add, extra)
        return np.asarray(floor + extra)

    def profile(self, where: tuple[int, ...], present: frozenset[Condition]) -> Profile:
        """The profile at one place of the space, for the service's own evaluator."""
        told = {n: v[i] for n, v, i in zip(self.names, self.values, where, strict=True)}
        axes = {axis: AxisGrade(told.get(axis, "unknown")) for axis in Axis}
        numbers = {
            number: NumberSeen(
                None if told.get(number) is None else Decimal(told[number]) / Decimal(10)
            )
            for number in Number
        }
        return Profile(axes, numbers, dict.fromkeys(present, ()))


@dataclass
class Answers:
    """For every profile: which option is chosen and how many helpers it takes."""

    grid: Grid
    chosen: Array
    helpers: Array

    def support(self) -> Array:
        """The place of the chosen method in the order of support."""
        order = [option.method.support for option in self.grid.move.options]
        return np.array(order)[self.chosen]

    def among(self, *methods: str) -> Array:
        """Where the chosen method is one of ``methods``."""
        ids = [option.method.id in methods for option in self.grid.move.options]
        return np.array(ids)[self.chosen]

    def flagged(self, flags: dict[str, bool]) -> Array:
        """Where the chosen method's id has a true flag."""
        return np.array([flags[o.method.id] for o in self.grid.move.options])[self.chosen]

    def example(self, wrong: Array) -> str:
        """The first profile at which ``wrong`` holds, in words."""
        where = tuple(int(i[0]) for i in np.nonzero(np.broadcast_to(wrong, self.chosen.shape)))
        told = {str(n): self.grid.values[d][where[d]] for d, n in enumerate(self.grid.names)}
        method = self.grid.move.options[int(self.chosen[where])].method.id
        return f"{self.grid.move.move}: {method} x{int(self.helpers[where])} for {told}"
