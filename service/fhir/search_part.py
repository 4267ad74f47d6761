"""Which part of a resource is asked for, by a search or a read, and what is in it?"""

from collections.abc import Iterable
from typing import Any

import msgspec

from service.domain.problem import Fault, Unreadable
from service.fhir.base_facts import base_elements
from service.fhir.encode import bytes_of
from service.fhir.search_control import Control, control_of

PARTS = ("_summary", "_elements")
_SUBSETTED = {
    "system": "http://terminology.hl7.org/CodeSystem/v3-ObservationValue",
    "code": "SUBSETTED",
}
_ALWAYS = frozenset({"resourceType", "id", "meta", "contained"})
"""What is contained is referred to by what is required."""
_RAW = msgspec.json.Decoder(dict[str, msgspec.Raw])


def part_wanted(kind: str, said: Iterable[tuple[str, str]]) -> Control:
    """What the parameters of a read or a history ask of each resource; the other parameters are
    not looked at. Raises Unreadable with every fault."""
    faults: list[Fault] = []

    def refuse(name: str, text: str) -> None:
        faults.append(Fault(f"/http/{name}", "search.value", f"{name}: {text}"))

    listed: dict[str, tuple[str, ...]] = {}
    for name, value in said:
        if name in PARTS:
            listed[name] = (*listed.get(name, ()), value)
    found = control_of(kind, listed, refuse)
    if found.only_count:
        refuse("_summary", "count is for searches alone.")
    if faults:
        raise Unreadable("That part of a resource cannot be given.", tuple(faults))
    return found


def part_told(control: Control) -> list[tuple[str, str]]:
    """The parameters again, as a link repeats them."""
    told = [] if control.summary == "false" else [("_summary", control.summary)]
    return told + ([("_elements", ",".join(control.elements))] if control.elements else [])


def part_of(resource: Any, control: Control) -> Any:
    """The resource, or the elements of it that ``_summary`` or ``_elements`` ask for, marked as
    not being all of it. Required elements and the modifiers always stay."""
    kind = type(resource).__name__
    kept = _kept(kind, control)
    if kept is None:
        return resource
    whole = _RAW.decode(bytes_of(resource))
    part = {name: value for name, value in whole.items() if _stem(name, kept) in kept}
    meta = msgspec.json.decode(whole.get("meta", b"{}"))
    part["meta"] = msgspec.Raw(msgspec.json.encode({**meta, "tag": [_SUBSETTED]}))
    return part


def _kept(kind: str, control: Control) -> frozenset[str] | None:
    """None: all."""
    needed = _ALWAYS | _named(kind, lambda fact: fact.min > 0 or fact.is_modifier)
    if control.elements:
        return needed | set(control.elements)
    if control.summary == "text":
        return needed | {"text"}
    if control.summary == "data":
        return _named(kind, lambda _: True) - {"text"} | _ALWAYS
    if control.summary == "true":
        return needed | _named(kind, lambda fact: fact.is_summary)
    return None


def _named(kind: str, wanted: Any) -> frozenset[str]:
    return frozenset(
        fact.path.split(".")[1].removesuffix("[x]")
        for fact in base_elements(kind)
        if fact.path.count(".") == 1 and wanted(fact)
    )


def _stem(name: str, kept: frozenset[str]) -> str:
    """The element that a name stands for; a choice is named by its stem and its type."""
    if name in kept:
        return name
    return next((one for one in kept if name.startswith(one) and name[len(one)].isupper()), name)
