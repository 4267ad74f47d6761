"""Which names may an object of a FHIR type have, and what stands behind each?"""

from collections.abc import Mapping
from functools import cache

from msgspec import Struct

from service.fhir.base_facts import (
    MANY,
    STRUCTURE,
    ElementFacts,
    Kind,
    TypeFacts,
    known_types,
    type_facts,
)

_NESTED = ("BackboneElement", "Element")


class Place(Struct, frozen=True):
    """Where the names of an object are told: the facts' name, and the path in them."""

    facts: str
    path: str


class Slot(Struct, frozen=True):
    """One JSON name that an object may have.

    ``name``: as a path says it (``value`` for ``valueQuantity``). ``type``: the FHIR type.
    ``inside``: where the names inside are told; None for a primitive and for a resource.
    """

    name: str
    element: ElementFacts
    kind: Kind
    type: str
    primitive: bool
    inside: Place | None

    @property
    def repeats(self) -> bool:
        """Whether the standard writes it as an array, whatever a profile allows."""
        base = self.element.base
        return (base.max if base else self.element.max) not in ("0", "1")


class Element(Struct, frozen=True):
    """An element with every JSON name that it may come under."""

    name: str
    facts: ElementFacts
    names: tuple[str, ...]

    @property
    def most(self) -> int | None:
        return None if self.facts.max == MANY else int(self.facts.max)


class Names(Struct, frozen=True):
    """Everything an object may hold. ``owner``: the facts that its elements stand in."""

    owner: TypeFacts
    slots: Mapping[str, Slot]
    elements: tuple[Element, ...]


def type_place(name: str) -> Place:
    """Where the names of a type are told. A profile of a data type has the type's paths."""
    return Place(name, type_facts(name).elements[0].path)


@cache
def names_at(place: Place) -> Names:
    owner = type_facts(place.facts)
    slots: dict[str, Slot] = {}
    elements = []
    for facts in owner.elements:
        above, _, last = facts.path.rpartition(".")
        if above != place.path:
            continue
        name = last.removesuffix("[x]")
        made = dict(_slots(owner, facts, name, choice=last != name))
        slots.update(made)
        elements.append(Element(name, facts, tuple(made)))
    return Names(owner, slots, tuple(elements))


def _slots(
    owner: TypeFacts, facts: ElementFacts, name: str, *, choice: bool
) -> list[tuple[str, Slot]]:
    if facts.content_reference:
        inside = Place(owner.name, facts.content_reference.removeprefix("#"))
        return [(name, Slot(name, facts, Kind(_NESTED[0]), _NESTED[0], False, inside))]
    return [
        (name + kind.code[0].upper() + kind.code[1:] if choice else name, _slot(owner, facts, kind))
        for kind in facts.types
    ]


def _slot(owner: TypeFacts, facts: ElementFacts, kind: Kind) -> Slot:
    name = facts.path.rpartition(".")[2].removesuffix("[x]")
    type_name = kind.fhir_type or kind.code
    if facts.path == f"{owner.type}.id" and owner.kind == "resource":
        type_name = "id"
    if type_name in _NESTED:
        return Slot(name, facts, kind, type_name, False, Place(owner.name, facts.path))
    if type_name == "Resource":
        return Slot(name, facts, kind, type_name, False, None)
    if type_facts(type_name).kind == "primitive-type":
        return Slot(name, facts, kind, type_name, True, None)
    narrower = [each.removeprefix(STRUCTURE) for each in kind.profiles]
    told = narrower[0] if len(narrower) == 1 and narrower[0] in known_types() else type_name
    return Slot(name, facts, kind, type_name, False, type_place(told))
