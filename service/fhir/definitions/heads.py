"""What do all definitions say of themselves: address, version, name, words?"""

from decimal import Decimal
from typing import TypedDict

from service.fhir.narrative import narrative, safe
from service.fhir.site import Site
from service.fhir.structs import CodeableConcept, Coding, Element, Narrative, Resource
from service.fhir.text import fhir_id

PUBLISHER = "Stanchion"


class Mark(Element, frozen=True, kw_only=True):
    """An extension of a definition: one value, or parts of its own."""

    url: str
    extension: tuple["Mark", ...] = ()
    value_boolean: bool | None = None
    value_code: str | None = None
    value_coding: Coding | None = None
    value_codeable_concept: CodeableConcept | None = None
    value_decimal: Decimal | int | None = None
    value_integer: int | None = None
    value_string: str | None = None


class Definition(Resource, frozen=True, kw_only=True):
    """``url`` and ``version`` together are the canonical under which it is cited. The title
    is left out of the one type that has none."""

    url: str
    version: str
    name: str
    title: str | None = None
    status: str
    experimental: bool
    publisher: str
    description: str
    copyright: str | None = None


class Head(TypedDict):
    id: str
    text: Narrative
    url: str
    version: str
    name: str
    title: str
    status: str
    experimental: bool
    publisher: str
    description: str


def head(site: Site, kind: str, native: str, title: str, description: str, story: str = "") -> Head:
    """``kind`` is the resource type, ``native`` our own id; ``story`` is XHTML that follows the
    title and the description in the narrative."""
    name = fhir_id(native)
    return Head(
        id=name,
        text=narrative(f"<h2>{safe(title)}</h2><p>{safe(description)}</p>{story}"),
        url=f"{site.canonical}/{kind}/{name}",
        version=site.book.ref.version,
        name=pascal(native),
        title=title,
        status="active",
        experimental=False,
        publisher=PUBLISHER,
        description=description,
    )


def pascal(native: str) -> str:
    """A name for machines: ``stand_aid`` is StandAid."""
    parts = fhir_id(native).replace(".", "-").split("-")
    name = "".join([part[:1].upper() + part[1:] for part in parts])
    return name if name[:1].isalpha() else f"N{name}"
