"""Which invariants of the official definitions does a resource break, by an engine of FHIRPath?

Nothing here is ours but the walk: expressions, paths and types are read from the official package,
and the engine shares no code with either validator.
"""

import json
import tarfile
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

import fhirpathpy
from fhirpathpy.engine.nodes import ResourceNode
from fhirpathpy.models import models
from msgspec import Struct

from tests.fhir.validators import definitions

Document = dict[str, Any]
Rule = tuple[str, str]
"""Its key and its expression."""
# What the engine cannot do, and tests/fhir/own_checks.py does: it has no function that reads a
# narrative, and compares no quantities.
NOT_EVALUATED = ("txt-1", "txt-2", "rng-2")
R4 = models["r4"]
# The engine is not typed.
_node: Callable[[Document, str], Any] = ResourceNode


class Element(Struct, frozen=True):
    """``types``: the codes of its types; ``same``: the path of the element that it is like."""

    path: str
    types: tuple[str, ...]
    rules: tuple[Rule, ...]
    same: str = ""


class Within(Struct, frozen=True):
    """The ``resource`` that an element is in, and the one that holds that one."""

    resource: Document
    root: Document


class Place(Struct, frozen=True):
    """A value in a resource, the path of its definition, where it stands and in what."""

    value: Document
    path: str
    at: str
    rules: tuple[Rule, ...]
    within: Within


@cache
def _package() -> dict[str, Document]:
    """Name of a type → its definition."""
    found = {}
    with tarfile.open(definitions()) as package:
        for member in package:
            if not member.name.startswith("package/StructureDefinition-"):
                continue
            file = package.extractfile(member)
            assert file is not None
            read = json.load(file)
            if read.get("derivation") != "constraint" and "snapshot" in read:
                found[read["type"]] = read
    return found


@cache
def elements(kind: str) -> dict[str, Element]:
    """Path → element, of one type."""
    return {
        one["path"]: Element(
            one["path"],
            tuple(each["code"] for each in one.get("type", ())),
            tuple((rule["key"], rule["expression"]) for rule in one.get("constraint", ())
                  if rule.get("expression") and rule["key"] not in NOT_EVALUATED),
            one.get("contentReference", "#")[1:],
        )
        for one in _package()[kind]["snapshot"]["element"]
    }  # fmt: skip


def invariant_faults(resource: Document) -> list[str]:
    """Each broken invariant with its place. ``resource`` may be a Bundle."""
    return [
        f"{place.at}: {key}"
        for place in places(resource)
        for key, expression in place.rules
        if not holds(expression, place)
    ]


def holds(expression: str, place: Place) -> bool:
    """What says nothing, as over an element that is not there, is not broken."""
    context = {"resource": place.within.resource, "rootResource": place.within.root}
    said: list[Any] = _compiled(expression)(_node(place.value, place.path), context)
    return said != [False]


def places(resource: Document) -> Iterator[Place]:
    """``resource`` and every element below it that may have invariants."""
    kind = str(resource["resourceType"])
    return _places(resource, kind, kind, (), Within(resource, resource))


def _places(
    value: Document, path: str, at: str, more: tuple[Rule, ...], within: Within
) -> Iterator[Place]:
    """``more``: rules that hold for ``value`` where it stands."""
    known = elements(path.partition(".")[0])
    rules = dict.fromkeys((*more, *known[path].rules))
    if within.resource is not within.root:
        rules = {rule: None for rule in rules if rule[0] != "dom-6"}
    yield Place(value, path, at, tuple(rules), within)
    for name, inner in value.items():
        element = _element(known, path, name)
        if element is None:
            continue
        for index, one in enumerate(inner if isinstance(inner, list) else [inner]):
            place = f"{at}.{name}[{index}]" if isinstance(inner, list) else f"{at}.{name}"
            if isinstance(one, dict):
                inside = _within(one, name, within)
                yield from _places(one, _defined(one, element, name), place, element.rules, inside)


def _within(value: Document, name: str, outside: Within) -> Within:
    """A contained resource has one around it and needs no narrative; the entry of a Bundle is
    by itself."""
    if "resourceType" not in value:
        return outside
    return Within(value, outside.resource if name == "contained" else value)


def _defined(value: Document, element: Element, name: str) -> str:
    """The path at which the inside of ``value`` is defined."""
    if "resourceType" in value:
        return str(value["resourceType"])
    if element.same:
        return element.same
    if element.types[0] in ("BackboneElement", "Element"):
        return element.path
    suffix = name.removeprefix(element.path.rpartition(".")[2].removesuffix("[x]"))
    named = [kind for kind in element.types if kind.lower() == suffix.lower()]
    return (named or list(element.types))[0]


def _element(known: dict[str, Element], path: str, name: str) -> Element | None:
    if f"{path}.{name}" in known:
        return known[f"{path}.{name}"]
    choices = (
        element
        for place, element in known.items()
        if place.endswith("[x]") and f"{path}.{name}".startswith(place.removesuffix("[x]"))
    )
    return next(choices, None)


def _has_value(values: list[Any]) -> list[bool]:
    return [len(values) == 1 and not isinstance(values[0], dict | list)]


_OPTIONS = {
    "traceFn": lambda _label, _values: None,
    "userInvocationTable": {"hasValue": {"fn": _has_value, "arity": {0: []}}},
}


@cache
def _compiled(expression: str) -> Any:
    # dom-3 asks many for one type by `as`, which is defined for one; `ofType` means what it means.
    return fhirpathpy.compile(expression.replace(".as(", ".ofType("), R4, _OPTIONS)
