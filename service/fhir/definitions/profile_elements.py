"""Of which elements are profiles and extensions made?"""

from service.fhir.definitions.heads import Definition
from service.fhir.structs import CodeableConcept, Element


class ElementBase(Element, frozen=True):
    path: str
    min: int
    max: str


class TypeExtension(Element, frozen=True):
    url: str
    value_url: str


class ElementType(Element, frozen=True, kw_only=True):
    extension: tuple[TypeExtension, ...] = ()
    code: str
    profile: tuple[str, ...] = ()
    target_profile: tuple[str, ...] = ()


class Discriminator(Element, frozen=True):
    type: str
    path: str


class Slicing(Element, frozen=True, kw_only=True):
    discriminator: tuple[Discriminator, ...]
    rules: str


class Invariant(Element, frozen=True, kw_only=True):
    key: str
    severity: str
    human: str
    expression: str
    source: str | None = None


class ElementBinding(Element, frozen=True, kw_only=True):
    """``description`` where there is no value set."""

    strength: str
    description: str | None = None
    value_set: str | None = None


class ElementDefinition(Element, frozen=True, kw_only=True):
    """An element left at None is not spoken of; a differential holds only what is."""

    id: str
    path: str
    slice_name: str | None = None
    slicing: Slicing | None = None
    short: str | None = None
    definition: str | None = None
    min: int | None = None
    max: str | None = None
    base: ElementBase | None = None
    content_reference: str | None = None
    type: tuple[ElementType, ...] = ()
    fixed_uri: str | None = None
    fixed_code: str | None = None
    pattern_codeable_concept: CodeableConcept | None = None
    condition: tuple[str, ...] = ()
    constraint: tuple[Invariant, ...] = ()
    must_support: bool | None = None
    is_modifier: bool | None = None
    is_modifier_reason: str | None = None
    is_summary: bool | None = None
    binding: ElementBinding | None = None


class Elements(Element, frozen=True):
    element: tuple[ElementDefinition, ...]


class Context(Element, frozen=True):
    type: str
    expression: str


class StructureDefinition(Definition, frozen=True, kw_only=True, tag=True):
    fhir_version: str
    kind: str
    abstract: bool
    context: tuple[Context, ...] = ()
    type: str
    base_definition: str
    derivation: str
    snapshot: Elements
    differential: Elements
