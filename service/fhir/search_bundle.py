"""How is what was found told as a Bundle, whole or in part?"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any, Literal
from uuid import NAMESPACE_URL, uuid5

import msgspec

from service.fhir.base_facts import base_elements
from service.fhir.encode import bytes_of
from service.fhir.narrative import said
from service.fhir.resources import Issue, Link, OperationOutcome, SearchMode
from service.fhir.search_control import Control
from service.fhir.structs import CodeableConcept, Element, Meta, Resource

_SUBSETTED = {
    "system": "http://terminology.hl7.org/CodeSystem/v3-ObservationValue",
    "code": "SUBSETTED",
}
_ALWAYS = frozenset({"resourceType", "id", "meta"})
_RAW = msgspec.json.Decoder(dict[str, msgspec.Raw])
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
    entries += [entry_of(base, one, _INCLUDE, control) for one in included]
    if ignored and not control.only_count:
        outcome = _left_out(ignored)
        address = uuid5(NAMESPACE_URL, " ".join(ignored)).urn
        entries.append(FoundEntry(full_url=address, resource=outcome, search=_OUTCOME))
    return FoundBundle(type="searchset", total=total, link=_links(links), entry=tuple(entries))


def history_bundle(
    base: str, versions: Sequence[Any], *, total: int | None, links: Iterable[tuple[str, str]]
) -> FoundBundle:
    """Versions of one resource, newest first."""
    entries = tuple([_version_entry(base, one) for one in versions])
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


def part_of(resource: Any, control: Control) -> Any:
    """The resource, or the elements of it that ``_summary`` or ``_elements`` ask for, marked as
    not being all of it. Required elements and the modifiers always stay."""
    kind = type(resource).__name__
    kept = _kept(kind, control)
    if kept is None:
        return resource
    whole = _RAW.decode(bytes_of(resource))
    part = {name: value for name, value in whole.items() if _stem(name, kept) in kept}
    meta = msgspec.json.decode(whole.get("meta", b"{}"))
    part["meta"] = msgspec.Raw(msgspec.json.encode({**meta, "tag": [_SUBSETTED]}))
    return part


def _kept(kind: str, control: Control) -> frozenset[str] | None:
    """None: all."""
    needed = _ALWAYS | _named(kind, lambda fact: fact.min > 0 or fact.is_modifier)
    if control.elements:
        return needed | set(control.elements)
    if control.summary == "text":
        return needed | {"text"}
    if control.summary == "data":
        return _named(kind, lambda _: True) - {"text"} | _ALWAYS
    if control.summary == "true":
        return needed | _named(kind, lambda fact: fact.is_summary)
    return None


def _named(kind: str, wanted: Any) -> frozenset[str]:
    return frozenset(
        fact.path.split(".")[1].removesuffix("[x]")
        for fact in base_elements(kind)
        if fact.path.count(".") == 1 and wanted(fact)
    )


def _stem(name: str, kept: frozenset[str]) -> str:
    """The element that a name stands for; a choice is named by its stem and its type."""
    if name in kept:
        return name
    return next((one for one in kept if name.startswith(one) and name[len(one)].isupper()), name)


def _version_entry(base: str, resource: Any) -> FoundEntry:
    kind, meta = type(resource).__name__, resource.meta
    first = meta.version_id == "1"
    asked = Asked("POST", kind) if first else Asked("PUT", f"{kind}/{resource.id}")
    return FoundEntry(
        full_url=address_of(base, resource),
        resource=resource,
        request=asked,
        response=_answered(meta, "201" if first else "200"),
    )


def _answered(meta: Meta, status: str) -> Answered:
    return Answered(status, f'W/"{meta.version_id}"', meta.last_updated)


def _links(links: Iterable[tuple[str, str]]) -> tuple[Link, ...]:
    return tuple([Link(relation, url) for relation, url in links])
