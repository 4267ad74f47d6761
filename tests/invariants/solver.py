"""What do the rules answer, written as formulas over every person and every means at once?

One whole number an axis, a real number with a "known" for each number, a truth value for each
condition, and the helpers and devices that are there: all free within their range. The solver
then looks for one person that breaks a claim. What it finds is told in words.
"""

from collections.abc import Iterable

import z3

from service.domain.axis import Number
from service.domain.context import Context, DeviceAtHand, DeviceStatus
from service.domain.move import Move
from service.rules.book import Option, RuleBook
from tests.invariants.grid import NOBODY
from tests.invariants.person import Formula, Model, Person, is_true, known_value, whole_value

STATUSES = (None, *DeviceStatus)
READY = STATUSES.index(DeviceStatus.READY)


def whole(value: int) -> Formula:
    return z3.IntVal(value)


class Means:
    """The helpers and devices that are there. Of one class the strongest device that is ready
    stands for all: a plan takes any that carries the person, and only such a one."""

    def __init__(self, name: str, classes: Iterable[str]) -> None:
        classes = sorted(classes)
        self.counted = z3.Bool(f"{name}.helpers.counted")
        self.helpers = z3.Int(f"{name}.helpers")
        self.listed = z3.Bool(f"{name}.devices.listed")
        self.status = {each: z3.Int(f"{name}.{each}.status") for each in classes}
        self.load = {each: z3.Real(f"{name}.{each}.load") for each in classes}
        self.load_known = {each: z3.Bool(f"{name}.{each}.load.known") for each in classes}

    def possible(self) -> Formula:
        within = [z3.And(each >= 0, each < len(STATUSES)) for each in self.status.values()]
        return z3.And(self.helpers >= 0, *(load >= 0 for load in self.load.values()), *within)

    def unlimited(self) -> Formula:
        return z3.Not(z3.Or(self.counted, self.listed))

    def ready(self, wanted: str) -> Formula:
        return self.status[wanted] == READY

    def carries(self, wanted: str, person: Person) -> Formula:
        """A safe working load is known, so is the person's mass, and the load is not exceeded."""
        mass, known = person.numbers[Number.MASS_KG], person.known[Number.MASS_KG]
        return z3.And(self.load_known[wanted], known, mass <= self.load[wanted])

    def no_more_than(self, other: "Means") -> Formula:
        """No helper and no device more, no device fitter or stronger."""
        told = [
            z3.Implies(other.counted, z3.And(self.counted, self.helpers <= other.helpers)),
            z3.Implies(other.listed, self.listed),
        ]
        for each, load in self.load.items():
            weaker = z3.Implies(
                self.load_known[each], z3.And(other.load_known[each], load <= other.load[each])
            )
            fitter = z3.Implies(self.ready(each), z3.And(other.ready(each), weaker))
            told.append(z3.Implies(other.listed, fitter))
        return z3.And(*told)

    def found(self, model: Model) -> Context:
        """The helpers and devices of ``model``."""
        there = {each: STATUSES[whole_value(model, status)] for each, status in self.status.items()}
        devices = [
            DeviceAtHand(
                device_class=each,
                status=status,
                safe_working_load_kg=known_value(model, self.load_known[each], self.load[each]),
            )
            for each, status in there.items()
            if status is not None
        ]
        return Context(
            trained_helpers=whole_value(model, self.helpers)
            if is_true(model, self.counted)
            else None,
            devices=devices if is_true(model, self.listed) else "any",
        )

    def told(self, model: Model) -> dict[str, str]:
        found = self.found(model)
        there = found.trained_helpers
        words = {} if there is None else {"helpers there": str(there)}
        if found.devices == "any":
            return words
        listed = {
            device.device_class: f"{device.status}, load {device.safe_working_load_kg}"
            for device in found.devices
        }
        return words | (listed or {"devices": "none"})


class Answer:
    """The answer of one move for one person and one means."""

    def __init__(self, book: RuleBook, move: Move, person: Person, means: Means) -> None:
        self.book, self.move, self.person, self.means = book, move, person, means
        self.options = book.moves[move].options
        self.counts = [self._helpers(option) for option in self.options]
        self.taken: list[Formula] = []
        before: list[Formula] = []
        for option, count in zip(self.options, self.counts, strict=True):
            met = [person.holds(each) for each in option.requires]
            is_open = z3.And(*met, self._is_there(option, count))
            self.taken.append(z3.And(is_open, z3.Not(z3.Or(*before))))
            before.append(is_open)
        self.support = self._of_taken([whole(o.method.support) for o in self.options])
        self.helpers = self._of_taken(self.counts)

    def among(self, *methods: str) -> Formula:
        """Whether the chosen method is one of ``methods``."""
        pairs = zip(self.options, self.taken, strict=True)
        return z3.Or(*(taken for option, taken in pairs if option.method.id in methods))

    def _of_taken(self, values: list[Formula]) -> Formula:
        told = values[-1]
        for taken, value in zip(reversed(self.taken[:-1]), reversed(values[:-1]), strict=True):
            told = z3.If(taken, value, told)
        return told

    def _helpers(self, option: Option) -> Formula:
        if option.method.helpers is None:
            return whole(NOBODY)
        floor, extra = whole(option.method.helpers), whole(0)
        for rule in option.more_helpers:
            due = z3.BoolVal(val=True)
            if rule.unless is not None:
                due = z3.Not(self.person.holds(rule.unless))
            floor = z3.If(z3.And(due, floor < rule.at_least), whole(rule.at_least), floor)
            extra = extra + z3.If(due, whole(rule.add), whole(0))
        return floor + extra

    def _is_there(self, option: Option, count: Formula) -> Formula:
        means, wanted = self.means, option.method.device_class
        if option.method.helpers is None:
            return z3.BoolVal(val=True)
        enough = z3.Or(z3.Not(means.counted), count <= means.helpers)
        if wanted is None:
            return enough
        usable = means.ready(wanted)
        if self.book.device_classes[wanted].carries_person:
            usable = z3.And(usable, means.carries(wanted, self.person))
        return z3.And(enough, z3.Or(z3.Not(means.listed), usable))

    def told(self, model: Model) -> str:
        """Which method, by how many, for whom and with what."""
        taken = [
            f"{option.method.id} x{whole_value(model, count)}"
            for option, count, each in zip(self.options, self.counts, self.taken, strict=True)
            if is_true(model, each)
        ]
        about = self.person.told(model) | self.means.told(model)
        said = ", ".join(f"{name}: {value}" for name, value in about.items())
        return f"{self.move}: {' and '.join(taken) or 'no answer'} for {said}"
