"""What does a profile look like in full: the base of the standard with our differential in it?

An element of the differential is found by its id. A slice that is not there yet is made from the
element that it slices, a part of a data type from the elements of that type.
"""

from collections.abc import Iterable

from msgspec.structs import replace

from service.fhir.base_facts import Binding, ElementFacts, Kind, TypeFacts, type_facts
from service.fhir.definitions.profile_elements import (
    ElementBase,
    ElementBinding,
    ElementDefinition,
    ElementType,
    Invariant,
    TypeExtension,
)

_FHIR_TYPE = "http://hl7.org/fhir/StructureDefinition/structuredefinition-fhir-type"
_MODIFIER = "It can change what everything beside it means."
_MERGED = tuple(
    name
    for name in ElementDefinition.__struct_fields__
    if name not in ("id", "path", "constraint", "condition")
)


class Unplaced(ValueError):
    """An element of a differential that no element of the base makes room for."""


def snapshot_of(base: str, differential: Iterable[ElementDefinition]) -> list[ElementDefinition]:
    """``base``: a type of the standard. Raises Unplaced."""
    whole = _elements(type_facts(base))
    for changed in differential:
        place = _place(whole, changed)
        whole[place] = merged(whole[place], changed)
    return whole


def merged(base: ElementDefinition, changed: ElementDefinition) -> ElementDefinition:
    """``base`` with what ``changed`` says; invariants of both."""
    said = {name: getattr(changed, name) for name in _MERGED}
    new = {name: value for name, value in said.items() if value not in (None, ())}
    known = {one.key for one in base.constraint}
    more = tuple([one for one in changed.constraint if one.key not in known])
    return replace(base, **new, constraint=(*base.constraint, *more))


def _place(whole: list[ElementDefinition], changed: ElementDefinition) -> int:
    """Where the element stands; it is made where it is not there yet."""
    places = {one.id: place for place, one in enumerate(whole)}
    if changed.id in places:
        return places[changed.id]
    parent, _, last = changed.id.rpartition(".")
    sliced, colon, name = last.partition(":")
    if colon:
        return _sliced(whole, f"{parent}.{sliced}", changed.id, name)
    if parent not in places:
        raise Unplaced(f"{changed.id}: there is no {parent}.")
    whole[places[parent] + 1 : places[parent] + 1] = _children(whole[places[parent]])
    after = {one.id: place for place, one in enumerate(whole)}
    if changed.id not in after:
        raise Unplaced(f"{changed.id}: {parent} has no such part.")
    return after[changed.id]


def _sliced(whole: list[ElementDefinition], source: str, slice_id: str, name: str) -> int:
    """Puts the slice behind the element that it slices and the slices before it."""
    found = next((one for one in whole if one.id == source), None)
    if found is None:
        raise Unplaced(f"{slice_id}: there is no {source}.")
    inside = (f"{source}.", f"{source}:")
    last = max(
        place for place, one in enumerate(whole) if one.id == source or one.id.startswith(inside)
    )
    made = replace(found, id=slice_id, slice_name=name, slicing=None, min=0)
    whole.insert(last + 1, made)
    return last + 1


def _children(parent: ElementDefinition) -> list[ElementDefinition]:
    """The parts of the one type that ``parent`` has."""
    kinds = [one.code for one in parent.type]
    if len(kinds) != 1:
        raise Unplaced(f"{parent.id}: has no one type to look into.")
    facts = type_facts(kinds[0])
    return [
        replace(
            one,
            id=f"{parent.id}{one.path.removeprefix(facts.name)}",
            path=f"{parent.path}{one.path.removeprefix(facts.name)}",
        )
        for one in _elements(facts)[1:]
    ]


def _elements(facts: TypeFacts) -> list[ElementDefinition]:
    return [_element(facts, one) for one in facts.elements]


def _element(facts: TypeFacts, one: ElementFacts) -> ElementDefinition:
    base = one.base
    name = one.path.rpartition(".")[2]
    return ElementDefinition(
        id=one.path,
        path=one.path,
        short=name,
        definition=f"As FHIR R4 defines {one.path}.",
        min=one.min,
        max=one.max,
        base=ElementBase(one.path, one.min, one.max)
        if base is None
        else ElementBase(base.path, base.min, base.max),
        content_reference=one.content_reference,
        type=tuple([_type(kind) for kind in one.types]),
        condition=one.conditions,
        constraint=tuple([_invariant(facts, key) for key in one.constraints]),
        is_modifier=True if one.is_modifier else None,
        is_modifier_reason=_MODIFIER if one.is_modifier else None,
        is_summary=True if one.is_summary else None,
        binding=None if one.binding is None else _binding(one.binding),
    )


def _binding(one: Binding) -> ElementBinding:
    told = "Any codes that fit." if one.value_set is None else None
    return ElementBinding(strength=one.strength, description=told, value_set=one.value_set)


def _type(kind: Kind) -> ElementType:
    named = () if kind.fhir_type is None else (TypeExtension(_FHIR_TYPE, kind.fhir_type),)
    return ElementType(
        extension=named, code=kind.code, profile=kind.profiles, target_profile=kind.targets
    )


def _invariant(facts: TypeFacts, key: str) -> Invariant:
    known = facts.constraints[key]
    return Invariant(
        key=key,
        severity=known.severity,
        human=f"Rule {key} of FHIR R4.",
        expression=known.expression,
        source=known.source or facts.url,
    )
