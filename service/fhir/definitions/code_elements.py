"""Of which elements are code systems, value sets and concept maps made?"""

from service.fhir.definitions.heads import Definition, Mark
from service.fhir.structs import Element


class PropertyDeclared(Element, frozen=True, kw_only=True):
    code: str
    description: str
    type: str


class PropertyValue(Element, frozen=True, kw_only=True):
    code: str
    value_string: str


class Concept(Element, frozen=True, kw_only=True):
    extension: tuple[Mark, ...] = ()
    code: str
    display: str
    definition: str | None = None
    property: tuple[PropertyValue, ...] = ()


class CodeSystem(Definition, frozen=True, kw_only=True, tag=True):
    case_sensitive: bool
    value_set: str
    content: str
    count: int
    property: tuple[PropertyDeclared, ...] = ()
    concept: tuple[Concept, ...]


class ConceptReference(Element, frozen=True, kw_only=True):
    code: str
    display: str | None = None


class Include(Element, frozen=True, kw_only=True):
    system: str | None = None
    version: str | None = None
    concept: tuple[ConceptReference, ...] = ()


class Compose(Element, frozen=True, kw_only=True):
    include: tuple[Include, ...]


class ValueSet(Definition, frozen=True, kw_only=True, tag=True):
    immutable: bool
    compose: Compose


class Target(Element, frozen=True, kw_only=True):
    code: str
    display: str | None = None
    equivalence: str
    comment: str | None = None


class Mapped(Element, frozen=True, kw_only=True):
    code: str
    display: str | None = None
    target: tuple[Target, ...]


class MapGroup(Element, frozen=True, kw_only=True):
    source: str
    source_version: str | None = None
    target: str
    element: tuple[Mapped, ...]


class ConceptMap(Definition, frozen=True, kw_only=True, tag=True):
    source_canonical: str
    group: tuple[MapGroup, ...]
