"""Which FHIR data types go out, and in which form?

Only the elements that are sent. Elements left at their default are not written, so no
element is ever null or empty.
"""

from datetime import datetime
from decimal import Decimal

from msgspec import Struct


class Element(Struct, frozen=True, omit_defaults=True, rename="camel", gc=False):
    """FHIR names are camelCase and nothing empty is written."""


class Meta(Element, frozen=True, kw_only=True):
    version_id: str | None = None
    last_updated: datetime | None = None
    profile: tuple[str, ...] = ()


class Narrative(Element, frozen=True):
    """``div`` is XHTML made by :mod:`service.fhir.narrative`."""

    status: str
    div: str


class Coding(Element, frozen=True):
    system: str
    code: str
    display: str | None = None


class CodeableConcept(Element, frozen=True):
    coding: tuple[Coding, ...] = ()
    text: str | None = None


class Identifier(Element, frozen=True):
    system: str
    value: str
    use: str | None = None


class HumanName(Element, frozen=True, kw_only=True):
    family: str | None = None
    given: tuple[str, ...] = ()


class Reference(Element, frozen=True, kw_only=True):
    reference: str | None = None
    type: str | None = None
    identifier: Identifier | None = None
    display: str | None = None


class Period(Element, frozen=True):
    start: datetime
    end: datetime | None = None


class Quantity(Element, frozen=True):
    value: Decimal | int
    unit: str
    system: str
    code: str


class Range(Element, frozen=True):
    low: Quantity | None = None
    high: Quantity | None = None


class Annotation(Element, frozen=True):
    text: str
    time: datetime | None = None


class Extension(Element, frozen=True, kw_only=True):
    """Exactly one value, or parts of its own."""

    url: str
    extension: tuple["Extension", ...] = ()
    value_code: str | None = None
    value_string: str | None = None
    value_boolean: bool | None = None
    value_unsigned_int: int | None = None
    value_date_time: datetime | None = None
    value_codeable_concept: CodeableConcept | None = None
    value_reference: Reference | None = None


class Resource(Element, frozen=True, kw_only=True, tag_field="resourceType", tag=True):
    """Written with its ``resourceType`` first."""

    id: str | None = None
    meta: Meta = Meta()
    text: Narrative | None = None
