"""How is what was found told as a Bundle, whole or in part?

The elements that are asked for by name are those of the matches; what is brought along is told
whole, or as the summary that was asked for.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, Literal
from uuid import NAMESPACE_URL, uuid5

from msgspec.structs import replace

from service.fhir.narrative import said
from service.fhir.resources import Issue, Link, OperationOutcome, SearchMode
from service.fhir.search_control import Control
from service.fhir.search_part import part_of
from service.fhir.structs import CodeableConcept, Element, Meta, Resource

_MATCH, _INCLUDE, _OUTCOME = SearchMode("match"), SearchMode("include"), SearchMode("outcome")


class FoundEntry(Element, frozen=True, kw_only=True):
    """A resource, whole or as the part of it that was asked for."""

    full_url: str | None = None
    resource: Any = None
    search: SearchMode | None = None
    request: "Asked | None" = None
    response: "Answered | None" = None


class Asked(Element, frozen=True):
    method: str
    url: str


class Answered(Element, frozen=True):
    status: str
    etag: str
    last_modified: datetime | None = None


class FoundBundle(Resource, frozen=True, kw_only=True, tag="Bundle"):
    type: Literal["searchset", "history"]
    total: int | None = None
    link: tuple[Link, ...] = ()
    entry: tuple[FoundEntry, ...] = ()


def search_bundle(  # noqa: PLR0913 - a Bundle has these parts
    base: str,
    control: Control,
    matches: Sequence[Any],
    included: Sequence[Any],
    *,
    total: int | None,
    links: Iterable[tuple[str, str]],
    ignored: tuple[str, ...] = (),
) -> FoundBundle:
    entries = [entry_of(base, one, _MATCH, control) for one in matches]
    beside = replace(control, elements=())
    entries += [entry_of(base, one, _INCLUDE, beside) for one in included]
    if ignored and not control.only_count:
        outcome = _left_out(ignored)
        address = uuid5(NAMESPACE_URL, " ".join(ignored)).urn
        entries.append(FoundEntry(full_url=address, resource=outcome, search=_OUTCOME))
    return FoundBundle(type="searchset", total=total, link=_links(links), entry=tuple(entries))


def history_bundle(
    base: str,
    control: Control,
    versions: Sequence[Any],
    *,
    total: int | None,
    links: Iterable[tuple[str, str]],
) -> FoundBundle:
    """Versions of one resource, newest first."""
    entries = tuple([_version_entry(base, one, control) for one in versions])
    return FoundBundle(type="history", total=total, link=_links(links), entry=entries)


def _left_out(ignored: tuple[str, ...]) -> OperationOutcome:
    text = f"Left out, for it is not known here: {', '.join(ignored)}. More may be found for it."
    issue = Issue(severity="warning", code="not-supported", details=CodeableConcept(text=text))
    return OperationOutcome(text=said(text), issue=(issue,))


def entry_of(base: str, resource: Any, mode: SearchMode, control: Control) -> FoundEntry:
    return FoundEntry(
        full_url=address_of(base, resource), resource=part_of(resource, control), search=mode
    )


def address_of(base: str, resource: Any) -> str:
    return f"{base}/{type(resource).__name__}/{resource.id}"


def _version_entry(base: str, resource: Any, control: Control) -> FoundEntry:
    kind, meta = type(resource).__name__, resource.meta
    first = meta.version_id == "1"
    asked = Asked("POST", kind) if first else Asked("PUT", f"{kind}/{resource.id}")
    return FoundEntry(
        full_url=address_of(base, resource),
        resource=part_of(resource, control),
        request=asked,
        response=_answered(meta, "201" if first else "200"),
    )


def _answered(meta: Meta, status: str) -> Answered:
    return Answered(status, f'W/"{meta.version_id}"', meta.last_updated)


def _links(links: Iterable[tuple[str, str]]) -> tuple[Link, ...]:
    return tuple([Link(relation, url) for relation, url in links])
