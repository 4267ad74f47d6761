"""What do the definitions of FHIR R4 say of a type: its elements, types, codes and invariants?

``service/fhir/base/`` holds the facts, made by ``poe facts`` from the official package. No
sentence of the standard is carried.
"""

from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import msgspec
from msgspec import Struct

STRUCTURE = "http://hl7.org/fhir/StructureDefinition/"
FHIR_VERSION = "4.0.1"
MANY = "*"
_VALUE_SETS = "value-sets.json"
# System → its codes in one value set.
Codes = Mapping[str, frozenset[str]]


class Base(Struct, frozen=True):
    """The element that an inherited one comes from."""

    path: str
    min: int
    max: str


class Kind(Struct, frozen=True):
    """One type that an element may have.

    ``code`` is a FHIR type, or a FHIRPath one for what is written as an attribute in XML; then
    ``fhir_type`` says the FHIR type. ``regex`` stands at the value of a primitive.
    """

    code: str
    fhir_type: str | None = None
    regex: str | None = None
    profiles: tuple[str, ...] = ()
    targets: tuple[str, ...] = ()


class Binding(Struct, frozen=True):
    """``value_set`` is a canonical, with its version where the standard fixes it."""

    strength: str
    value_set: str | None = None


class Constraint(Struct, frozen=True):
    """``severity`` is ``error`` or ``warning``; ``source`` is where it was first declared."""

    severity: str
    expression: str
    source: str | None = None


class ElementFacts(Struct, frozen=True):
    """``constraints`` and ``conditions`` are keys; ``content_reference`` is ``#`` and a path.

    ``base`` is None where the element is declared by this type itself, as it is.
    """

    path: str
    min: int
    max: str
    base: Base | None = None
    types: tuple[Kind, ...] = ()
    content_reference: str | None = None
    binding: Binding | None = None
    constraints: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()
    is_modifier: bool = False
    is_summary: bool = False


class TypeFacts(Struct, frozen=True):
    """``kind`` is resource, complex-type or primitive-type; ``base`` its parent's canonical.

    ``type`` differs from ``name`` for a profile of a data type (SimpleQuantity is a Quantity).
    """

    name: str
    url: str
    type: str
    kind: str
    constraints: dict[str, Constraint]
    elements: tuple[ElementFacts, ...]
    abstract: bool = False
    base: str | None = None


@cache
def known_types() -> frozenset[str]:
    """Every type there are facts for."""
    names = (each.name for each in files(__package__).joinpath("base").iterdir())
    return frozenset(name.removesuffix(".json") for name in names if name != _VALUE_SETS)


@cache
def type_facts(name: str) -> TypeFacts:
    """KeyError where there are no facts of that type."""
    if name not in known_types():
        raise KeyError(name)
    return msgspec.json.decode(_read(f"{name}.json"), type=TypeFacts)


def base_elements(name: str) -> tuple[ElementFacts, ...]:
    """The elements of a type in the order of its snapshot, the type itself first."""
    return type_facts(name).elements


@cache
def known_resources() -> tuple[str, ...]:
    """Every type of resource there are facts for, by the alphabet."""
    facts = [type_facts(name) for name in sorted(known_types())]
    return tuple(each.name for each in facts if each.kind == "resource" and not each.abstract)


@cache
def value_sets() -> Mapping[str, Codes]:
    """Canonical with version → codes, for each required value set that is a list."""
    return msgspec.json.decode(_read(_VALUE_SETS), type=dict[str, dict[str, frozenset[str]]])


def _read(name: str) -> bytes:
    return files(__package__).joinpath("base", name).read_bytes()
