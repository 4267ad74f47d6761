"""Does a resource that was sent have the form of its R4 type, element by element?

The facts of the standard say which elements there are. What a type allows and we cannot keep
the meaning of is refused here too: contained resources, modifier extensions and every
extension that is not known.
"""

import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import cache
from typing import Any

from msgspec import Struct

from service.domain.json_text import pointer
from service.domain.problem import Fault
from service.fhir.base_facts import MANY, ElementFacts, known_types, type_facts
from service.fhir.read_shapes import in_calendar

IGNORED_EXTENSIONS = frozenset(
    f"http://hl7.org/fhir/StructureDefinition/{name}"
    for name in ("display", "ordinalValue", "rendering-markdown", "rendering-style",
                 "rendering-xhtml")
)  # fmt: skip
"""Extensions that say how something looks or is scored, and never what was answered."""

_BACKBONES = ("BackboneElement", "Element")
_NUMBERS: dict[str, Callable[[Any], bool]] = {
    "boolean": lambda raw: isinstance(raw, bool),
    "integer": lambda raw: type(raw) is int,
    "positiveInt": lambda raw: type(raw) is int and raw > 0,
    "unsignedInt": lambda raw: type(raw) is int and raw >= 0,
    "decimal": lambda raw: type(raw) is int or (type(raw) is Decimal and raw.is_finite()),
}
_HOW = {
    "decimal": ": a number and not a text",
    "integer": ": a whole number, without a fraction and not a text",
    "dateTime": ": with a time of day it needs seconds and offset, 2026-03-04T08:15:00+01:00",
    "instant": ": with seconds and offset, 2026-03-04T08:15:00+01:00",
    "boolean": ": true or false, and not a text",
}
"""What is often sent instead."""
_MOMENTS = ("date", "dateTime", "instant")
_REFUSED = {
    "modifierExtension": ("form.modifier", "No modifier extension is known here."),
    "contained": ("form.contained", "Contained resources are not read here."),
    "implicitRules": (
        "form.not_kept",
        "Rules that change what is said are not known here: leave them out.",
    ),
}
_SUBSETTED = "SUBSETTED"
"""The tag of a resource of which elements were left out."""


class _Element(Struct, frozen=True):
    """``kind``: a FHIR type, or the path of a backbone. ``choice``: the element's own name."""

    kind: str
    many: bool
    choice: str
    required: bool


def element_faults(
    raw: Any, kind: str, place: str, known: frozenset[str] = frozenset()
) -> Iterator[Fault]:
    """Every fault of form in ``raw``. ``kind``: a type, or the path of a backbone element;
    ``known``: the extensions that are read at the resource itself."""
    if not isinstance(raw, dict):
        yield Fault(place, "shape.type", "Must be an object.")
        return
    if not raw:
        yield Fault(place, "shape.empty", "Must not be empty; leave the element out instead.")
    table = _table(kind)
    for name, value in raw.items():
        if name == "resourceType" and kind in known_types():
            continue
        if name in _REFUSED:
            yield Fault(f"{place}/{name}", *_REFUSED[name])
        elif name == "extension":
            yield from _extension_faults(value, f"{place}/extension", IGNORED_EXTENSIONS | known)
        elif name.startswith("_") and name[1:] in table and not _is_complex(table[name[1:]].kind):
            yield from _beside_faults(value, f"{place}/{name}", many=table[name[1:]].many)
        elif name in table:
            yield from _named_faults(value, table[name], f"{place}/{name}")
        else:
            text = "R4 has no such element here."
            yield Fault(pointer(place, name), "shape.unknown_field", text)
    if kind == "Meta":
        yield from _meta_faults(raw, place)
    yield from _count_faults(raw, table, place)


def _meta_faults(meta: dict[str, Any], place: str) -> Iterator[Fault]:
    if "security" in meta:
        text = "Security labels cannot be honoured here, so they are refused."
        yield Fault(f"{place}/security", "form.not_kept", text)
    tags = meta.get("tag")
    for index, tag in enumerate(tags if isinstance(tags, list) else ()):
        if isinstance(tag, dict) and tag.get("code") == _SUBSETTED:
            text = "This is tagged as a part of a resource: send the whole."
            yield Fault(f"{place}/tag/{index}", "form.part", text)


def _named_faults(value: Any, element: _Element, place: str) -> Iterator[Fault]:
    if not element.many:
        yield from _value_faults(value, element.kind, place)
    elif not isinstance(value, list):
        yield Fault(place, "shape.type", "Must be an array.")
    elif not value:
        yield Fault(place, "shape.empty", "Must not be empty; leave the element out instead.")
    else:
        for index, one in enumerate(value):
            yield from _value_faults(one, element.kind, f"{place}/{index}")


def _value_faults(value: Any, kind: str, place: str) -> Iterator[Fault]:
    if _is_complex(kind):
        yield from element_faults(value, kind, place)
    elif not _fits(value, kind):
        yield Fault(place, "shape.type", f"Must be a FHIR {kind}{_HOW.get(kind, '')}.")


def _fits(value: Any, kind: str) -> bool:
    if kind in _NUMBERS:
        return _NUMBERS[kind](value)
    if not isinstance(value, str) or value == "" or not _pattern(kind).fullmatch(value):
        return False
    return kind not in _MOMENTS or in_calendar(value)


def _extension_faults(value: Any, place: str, known: frozenset[str]) -> Iterator[Fault]:
    if not isinstance(value, list) or not value:
        yield Fault(place, "shape.type", "Must be an array with entries.")
        return
    for index, one in enumerate(value):
        url = one.get("url") if isinstance(one, dict) else None
        if not isinstance(url, str) or url not in known:
            yield Fault(f"{place}/{index}", "form.extension", "This extension is not known here.")


def _beside_faults(value: Any, place: str, *, many: bool) -> Iterator[Fault]:
    """What stands beside a primitive, or beside each of a list of them."""
    if many and not isinstance(value, list):
        yield Fault(place, "shape.type", "Must be an array.")
        return
    for one in value if many else [value]:
        if one is not None or not many:
            yield from element_faults(one, "Element", place)


def _count_faults(raw: dict[str, Any], table: dict[str, _Element], place: str) -> Iterator[Fault]:
    sent: dict[str, int] = {}
    for name in raw:
        if name in table:
            sent[table[name].choice] = sent.get(table[name].choice, 0) + 1
    for choice, count in sent.items():
        if count > 1:
            yield Fault(place, "shape.choice", f"{choice}[x] may have one type only.")
    wanted = {element.choice for element in table.values() if element.required}
    for name in sorted(wanted - set(sent)):
        yield Fault(f"{place}/{name}", "shape.missing", "This element must be sent.")


@cache
def _table(kind: str) -> dict[str, _Element]:
    """Name in JSON → element, for a type or the path of a backbone."""
    depth = kind.count(".") + 1
    found: dict[str, _Element] = {}
    for facts in type_facts(kind.partition(".")[0]).elements:
        above, _, name = facts.path.rpartition(".")
        if above == kind and facts.path.count(".") == depth and facts.max != "0":
            found.update(_elements(name, facts))
    return found


def _elements(name: str, facts: ElementFacts) -> Iterator[tuple[str, _Element]]:
    many, required = (
        facts.max == MANY or (facts.max.isdecimal() and int(facts.max) > 1),
        facts.min > 0,
    )
    if facts.content_reference is not None:
        yield name, _Element(facts.content_reference.rpartition("#")[2], many, name, required)
    choice = name.removesuffix("[x]")
    for kind in facts.types:
        code = kind.fhir_type or kind.code.rpartition("/")[2]
        named = choice + code[:1].upper() + code[1:] if choice != name else name
        inner = facts.path if code in _BACKBONES else code
        yield named, _Element(inner, many, choice, required)


@cache
def _is_complex(kind: str) -> bool:
    return "." in kind or (kind in known_types() and type_facts(kind).kind != "primitive-type")


@cache
def _pattern(kind: str) -> re.Pattern[str]:
    """What a primitive looks like; anything where the standard does not say. White space in its
    patterns is that of XML, so a no-break space is a letter like any other. Its pattern for
    base64 takes forever on a text made for that."""
    if kind == "base64Binary":
        return re.compile(r"[0-9a-zA-Z+/=\s]+")
    if kind in known_types():
        for element in type_facts(kind).elements:
            for each in element.types:
                if element.path == f"{kind}.value" and each.regex is not None:
                    return re.compile(each.regex, re.ASCII)
    return re.compile(r"[\s\S]+")
