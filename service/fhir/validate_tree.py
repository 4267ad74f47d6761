"""Does a resource have the form of its type, element by element?"""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from service.fhir.base_facts import ElementFacts, TypeFacts, known_types, type_facts, value_sets
from service.fhir.validate_finding import Finding, Rule, Severity, below, is_name
from service.fhir.validate_primitive import primitive_findings
from service.fhir.validate_slots import Place, Slot, names_at, type_place

Json = dict[str, Any]
MOST_NODES = 50_000
MOST_FINDINGS = 1_000
_BESIDE = Place("Element", "Element")
_RESOURCE_TYPES = "http://hl7.org/fhir/ValueSet/resource-types|4.0.1"


class Within(Struct, frozen=True):
    """The resource that an element is part of, and the one that resource is contained in.
    ``contained``: id → type of what the latter contains. ``bundle``: the Bundle whose entry
    the latter is, where it is one."""

    root: Json
    resource: Json
    contained: Mapping[str, str]
    bundle: Json | None = None


class Node(Struct, frozen=True):
    """One value met on the way.

    ``base``: where its names are told, as FHIRPath engines call it. ``value`` is None where a
    primitive has nothing but extensions. ``slot`` is None for a resource itself.
    """

    path: str
    element: ElementFacts
    owner: TypeFacts
    type: str
    base: str
    value: Any
    within: Within
    slot: Slot | None = None


class Walked(Struct, frozen=True):
    """``nodes``: every value that has a place in the standard, the outer before the inner, as
    far as ``MOST_NODES``."""

    nodes: list[Node]
    findings: list[Finding]

    def say(self, rule: Rule, path: str, text: str, severity: Severity = Severity.ERROR) -> None:
        if len(self.findings) < MOST_FINDINGS:
            self.findings.append(Finding(rule, path, text, severity))

    @property
    def full(self) -> bool:
        return len(self.nodes) >= MOST_NODES


def walk(resource: Any) -> Walked:
    """All of ``resource``, with what is contained in it and the entries of a Bundle."""
    walked = Walked([], [])
    kind = resource.get("resourceType") if isinstance(resource, dict) else None
    named = isinstance(kind, str) and kind in resource_types()
    _resource(walked, resource, str(kind) if named else "", None)
    return walked


def resource_types() -> frozenset[str]:
    """Every type of resource of R4, whether there are facts for it or not."""
    (codes,) = value_sets()[_RESOURCE_TYPES].values()
    return codes


def _resource(
    walked: Walked, value: Any, path: str, around: Within | None, bundle: Json | None = None
) -> None:
    """``around``: of the resource that contains this one; None where it stands for itself."""
    if not isinstance(value, dict):
        walked.say(Rule.NOT_AN_OBJECT, path, "A resource is a JSON object. Send one.")
        return
    kind = value.get("resourceType")
    if kind is None:
        walked.say(Rule.MISSING, path, "resourceType is missing. Say which resource this is.")
        return
    if not isinstance(kind, str) or kind not in resource_types():
        walked.say(Rule.UNKNOWN_TYPE, path, "R4 has no resource of this resourceType.")
        return
    if kind in known_types() and type_facts(kind).abstract:
        text = f"{kind} is what others are made from. Send one of those."
        walked.say(Rule.UNKNOWN_TYPE, path, text)
        return
    if kind not in known_types():
        text = f"{kind} is not looked at here: the definitions of this type are not kept."
        walked.say(Rule.UNCHECKED, path, text, Severity.WARNING)
        return
    place = type_place(kind)
    owner = type_facts(kind)
    if around is None:
        within = Within(value, value, contained_in(value), bundle)
    else:
        within = Within(around.root, value, around.contained, around.bundle)
    walked.nodes.append(Node(path, owner.elements[0], owner, kind, kind, value, within))
    _object(walked, value, place, path, within)


def contained_in(resource: Json) -> dict[str, str]:
    listed = resource.get("contained")
    return {
        str(each["id"]): str(each.get("resourceType"))
        for each in (listed if isinstance(listed, list) else ())
        if isinstance(each, dict) and "id" in each
    }


def _object(walked: Walked, value: Json, place: Place, path: str, within: Within) -> None:
    names = names_at(place)
    met = _met(walked, value, place, path, within)
    if not value:
        walked.say(Rule.EMPTY, path, "The object is empty. Fill it or leave it out.")
    for element in names.elements:
        given = met.get(element.name, [])
        inner = f"{path}.{element.name}"
        if not given and element.facts.min > 0:
            walked.say(Rule.MISSING, inner, f"{element.name} is required. Give it.")
        if len(given) > 1:
            text = "Only one type of value may be given. Keep one and leave the others out."
            walked.say(Rule.ONE_CHOICE, inner, text)
        if given and element.most == 0:
            text = "This element may not be given here. Leave it out."
            walked.say(Rule.TOO_MANY, inner, text)
        for name in given:
            _values(walked, value, name, names.slots[name], (path, within, names.owner))


def _met(
    walked: Walked, value: Json, place: Place, path: str, within: Within
) -> dict[str, list[str]]:
    """Element → the JSON names it was given under, without the underscore."""
    slots = names_at(place).slots
    met: dict[str, list[str]] = {}
    for key in value:
        if key == "resourceType" and value is within.resource:
            continue
        name = key.removeprefix("_")
        slot = slots.get(name)
        if slot is None or (name != key and not slot.primitive):
            _unknown(walked, key, place, path)
            continue
        given = met.setdefault(slot.name, [])
        if name not in given:
            given.append(name)
    return met


def _unknown(walked: Walked, key: str, place: Place, path: str) -> None:
    named = (
        f"{place.path} has no element {key}"
        if is_name(key)
        else (f"{place.path} has an element here that it does not know")
    )
    walked.say(
        Rule.UNKNOWN_ELEMENT, below(path, key), f"{named}. Leave it out or correct its name."
    )


Around = tuple[str, Within, TypeFacts]


def _values(walked: Walked, value: Json, name: str, slot: Slot, around: Around) -> None:
    """The one value or the array under ``name``, with what stands beside it under ``_name``."""
    path = f"{around[0]}.{slot.name}"
    given, beside = value.get(name), value.get(f"_{name}")
    for key, part in ((name, given), (f"_{name}", beside)):
        if key in value and part in (None, [], ""):
            text = "Nothing is written as null or as an empty array or text. Leave it out."
            walked.say(Rule.EMPTY, path, text)
            return
    if not slot.repeats:
        if isinstance(given, list) or isinstance(beside, list):
            walked.say(Rule.JSON_FORM, path, "Write one value, not an array.")
            return
        _one(walked, given, beside, slot, (path, *around[1:]))
        return
    if not all(part is None or isinstance(part, list) for part in (given, beside)):
        walked.say(Rule.JSON_FORM, path, "Write an array, also around a single value.")
        return
    listed, aside = given or [], beside or []
    for index in range(max(len(listed), len(aside))):
        one = listed[index] if index < len(listed) else None
        extra = aside[index] if index < len(aside) else None
        _one(walked, one, extra, slot, (f"{path}[{index}]", *around[1:]))


def _one(walked: Walked, value: Any, beside: Any, slot: Slot, around: Around) -> None:
    path, within, owner = around
    if walked.full:
        return
    if value is None and beside is None:
        walked.say(Rule.EMPTY, path, "Nothing is written as null. Leave it out.")
        return
    if slot.primitive:
        _beside(walked, beside, path, within)
        if value is None and isinstance(beside, dict) and "extension" not in beside:
            text = "There is no value, and no extension in its place. Give one or leave it out."
            walked.say(Rule.EMPTY, path, text)
        if value is not None:
            walked.findings.extend(primitive_findings(slot.type, value, path))
    elif slot.inside is None:
        # An entry or a parameter stands for itself.
        inner = slot.name == "contained"
        bundle = within.resource if owner.name == "Bundle" else None
        _resource(walked, value, path, within if inner else None, bundle)
        return
    elif not isinstance(value, dict):
        walked.say(Rule.JSON_FORM, path, f"Write a JSON object: this is a {slot.type}.")
        return
    base = slot.inside.path if slot.inside is not None else slot.type
    walked.nodes.append(Node(path, slot.element, owner, slot.type, base, value, within, slot))
    if slot.inside is not None:
        _object(walked, value, slot.inside, path, within)


def _beside(walked: Walked, beside: Any, path: str, within: Within) -> None:
    if beside is None:
        return
    if not isinstance(beside, dict):
        text = "Beside a value stands an object with id or extension. Write one or leave it out."
        walked.say(Rule.JSON_FORM, path, text)
        return
    _object(walked, beside, _BESIDE, path, within)
