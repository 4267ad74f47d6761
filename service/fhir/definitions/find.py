"""Which definitions does a search ask for?"""

from collections.abc import Sequence

from msgspec import Struct

from service.fhir.definitions.everything import all_definitions
from service.fhir.definitions.heads import Definition
from service.fhir.site import Site

PARAMETERS = ("_id", "url", "version", "name", "title", "status")
_PARTS = ("name", "title")


class Wanted(Struct, frozen=True):
    """``values`` of one parameter: any of them will do."""

    parameter: str
    values: tuple[str, ...]


def definition(site: Site, kind: str, name: str) -> Definition | None:
    """The one of that type and id."""
    return next((one for one in _of(site, kind) if one.id == name), None)


def matching(site: Site, kind: str, wanted: Sequence[Wanted]) -> list[Definition]:
    """Those of a type that meet everything that is wanted, in the order in which they are kept."""
    return [one for one in _of(site, kind) if all(_meets(one, each) for each in wanted)]


def _of(site: Site, kind: str) -> list[Definition]:
    return [one for one in all_definitions(site) if type(one).__name__ == kind]


def _meets(one: Definition, wanted: Wanted) -> bool:
    name = wanted.parameter
    if name == "_id":
        return one.id in wanted.values
    if name == "url":
        return any(_cited(one, value) for value in wanted.values)
    told: str = getattr(one, name) or ""
    if name in _PARTS:
        return any(told.casefold().startswith(value.casefold()) for value in wanted.values)
    return told in wanted.values


def _cited(one: Definition, canonical: str) -> bool:
    """``url`` or, as references write it, ``url|version``."""
    url, _, version = canonical.partition("|")
    return one.url == url and version in ("", one.version)
