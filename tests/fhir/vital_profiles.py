"""What do the standard's own vital-sign profiles say of an Observation?

The validators at hand do not tell slices apart by a fixed value further down, so the few kinds of
rule that these profiles are made of are read here from the official package: how often, fixed
values, which slice, and required codes. Their invariants are evaluated as everywhere.
"""

import json
import tarfile
from collections.abc import Iterator
from functools import cache
from typing import Any

import fhirpathpy

from tests.fhir.base_values import codes_of
from tests.fhir.invariants import R4
from tests.fhir.validators import definitions

Document = dict[str, Any]
PROFILE_OF = {
    "9279-1": "resprate",
    "8867-4": "heartrate",
    "2708-6": "oxygensat",
    "8310-5": "bodytemp",
    "8302-2": "bodyheight",
    "29463-7": "bodyweight",
    "39156-5": "bmi",
    "85354-9": "bp",
}
"""The profile that holds for whatever bears a code, whether it claims it or not."""
_UNITS = "ucum-vitals-common"
_OWN = ("vs-2", "vs-3")
"""vs-1 asks for a whole day at least, and every time that is sent has its second."""


def vital_faults(one: Document) -> list[str]:
    """What the profile for all vital signs, and that of its code, finds in it."""
    told = {each["code"] for each in one["code"]["coding"]}
    names = ["vitalsigns", *[name for code, name in PROFILE_OF.items() if code in told]]
    found = [fault for name in names for fault in _faults(one, name)]
    return [*found, *_broken("vitalsigns", one)]


@cache
def _read(file: str) -> Document:
    with tarfile.open(definitions()) as package:
        held = package.extractfile(f"package/{file}.json")
        assert held is not None
        read: Document = json.load(held)
        return read


@cache
def _elements(name: str) -> dict[str, Document]:
    """By id: what the profile itself says."""
    told = _read(f"StructureDefinition-{name}")["differential"]["element"]
    return {one["id"]: one for one in told}


def _faults(one: Document, name: str) -> Iterator[str]:
    for place, element in _elements(name).items():
        tokens = place.split(".")[1:]
        for parent in _parents(name, one, tokens):
            found = _children(name, parent, tokens) if tokens else [parent]
            yield from _told(f"{name} {place}", element, found)


def _parents(name: str, one: Document, tokens: list[str]) -> list[Any]:
    found: list[Any] = [one]
    for depth in range(1, len(tokens)):
        found = [child for each in found for child in _children(name, each, tokens[:depth])]
    return found


def _children(name: str, parent: Document, tokens: list[str]) -> list[Any]:
    """What the last of ``tokens`` leads to: all of an element, or those of a slice."""
    path, _, part = tokens[-1].partition(":")
    stem = path.removesuffix("[x]")
    held = [parent[key] for key in parent if key == path or (stem != path and key.startswith(stem))]
    found = [each for value in held for each in (value if isinstance(value, list) else [value])]
    return [each for each in found if _coded(name, tokens) in _codings(each)] if part else found


def _coded(name: str, tokens: list[str]) -> tuple[str, str]:
    """The coding that makes something one of a slice."""
    begin = ".".join(["Observation", *tokens, ""])
    fixed = {
        kind: element[kind]
        for place, element in _elements(name).items()
        for kind in ("fixedUri", "fixedCode")
        if place.startswith(begin) and kind in element and "value" not in place
    }
    return fixed["fixedUri"], fixed["fixedCode"]


def _codings(item: Document) -> list[tuple[str | None, str | None]]:
    """Of a coding, a concept, or what is coded by a concept."""
    concept = item.get("code", item)
    told = concept.get("coding", [concept]) if isinstance(concept, dict) else [item]
    return [(one.get("system"), one.get("code")) for one in told]


def _told(place: str, element: Document, found: list[Any]) -> Iterator[str]:
    most = element.get("max", "*")
    if len(found) < element.get("min", 0) or (most != "*" and len(found) > int(most)):
        yield f"{place}: {len(found)} of {element.get('min', 0)}..{most}"
    for fixed in ("fixedUri", "fixedCode"):
        if fixed in element and any(each != element[fixed] for each in found):
            yield f"{place}: not {element[fixed]}"
    binding = element.get("binding", {})
    if binding.get("strength") == "required" and _UNITS in binding["valueSet"]:
        told = [each["code"] for each in found if isinstance(each, dict) and "code" in each]
        yield from [f"{place}: {code} is no such unit" for code in told if code not in _units()]


def _broken(name: str, one: Document) -> Iterator[str]:
    """The invariants of its own."""
    for place, element in _elements(name).items():
        for rule in element.get("constraint", ()):
            told = f"{place}.all({rule['expression']})"
            if rule["key"] in _OWN and fhirpathpy.evaluate(one, told, {}, R4) != [True]:
                yield f"{name} {place}: {rule['key']}"


@cache
def _units() -> set[str]:
    value_set = _read(f"ValueSet-{_UNITS}")
    (codes,) = (codes_of({value_set["url"]: value_set}, value_set["url"]) or {}).values()
    return codes
