"""Can a method ever be chosen for a move, and if so, only for want of another one's device?

Exact, without trying profiles. Each simple requirement says how good one axis, number or
condition must be, and these are independent of each other. So all that stands before an option
can be shut for one and the same person if, for each method before it, some one requirement can
fail although the option's own hold.
"""

from collections.abc import Iterator
from itertools import product

from msgspec import Struct

from service.domain.axis import RANK, Axis, Number
from service.domain.condition import Condition
from service.domain.requirement import Absent, AnyOf, Limit, Need, Requirement
from service.rules.book import MoveRules, Option

Atom = Need | Limit | Absent
About = Axis | Number | Condition
Held = dict[About, int]


class Reach(Struct, frozen=True):
    """``before``: methods that every person open to this one is open to as well, so that it is
    chosen only where the devices of all of them are missing. ``ever``: whether that can be."""

    method: str
    before: tuple[str, ...]
    ever: bool


def reaches(move: MoveRules) -> Iterator[Reach]:
    """For each option of ``move``, in the order of support."""
    for place, option in enumerate(move.options):
        ways = [_always_open(held, move.options[:place]) for held in _ways(option)]
        before = min(ways, key=len)
        wanted = option.method.device_class
        ever = all(each.method.device_class not in (None, wanted) for each in before)
        yield Reach(option.method.id, tuple(each.method.id for each in before), ever)


def _always_open(held: Held, earlier: tuple[Option, ...]) -> list[Option]:
    """The earlier options of which no requirement can fail while ``held`` holds."""
    return [
        option
        for option in earlier
        if not any(_can_fail(requirement, held) for requirement in option.requires)
    ]


def _ways(option: Option) -> Iterator[Held]:
    """What must hold for ``option``, once for each way to meet its either-ors."""
    for chosen in product(*(_parts(requirement) for requirement in option.requires)):
        held: Held = {}
        for atom in chosen:
            about, degree = _degree(atom)
            held[about] = max(degree, held.get(about, degree))
        yield held


def _can_fail(requirement: Requirement, held: Held) -> bool:
    return all(_worse_than(atom, held) for atom in _parts(requirement))


def _worse_than(atom: Atom, held: Held) -> bool:
    """Whether the degree that ``atom`` asks may be missed. What nothing holds may be unknown."""
    about, degree = _degree(atom)
    return about not in held or held[about] < degree


def _parts(requirement: Requirement) -> tuple[Atom, ...]:
    return requirement.parts if isinstance(requirement, AnyOf) else (requirement,)


def _degree(atom: Atom) -> tuple[About, int]:
    """What an atom is about, and how good it must be: higher is better. A number is limited from
    one side only (tests/invariants hold it), so its degrees compare."""
    if isinstance(atom, Need):
        return atom.axis, RANK[atom.axis][atom.grade]
    if isinstance(atom, Absent):
        return atom.condition, 1
    if atom.comparison == "at_least":
        return atom.number, atom.value
    return atom.number, -atom.value if atom.comparison == "at_most" else 1 - atom.value
