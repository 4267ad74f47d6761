"""Which entries does a transaction or batch ask for, and what is wrong with each?

A fault of an entry is placed in it: ``/Bundle/entry/3/request/url``.
"""

import re
from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from service.domain.problem import Fault, Refused
from service.fhir.read_elements import element_faults
from service.fhir.read_items import Document
from service.fhir.read_response import refused

MOST_ENTRIES = 100
METHODS = ("GET", "POST", "PUT")
KINDS = ("transaction", "batch")
_ABSOLUTE = re.compile(r"urn:uuid:[0-9a-fA-F-]{36}|urn:oid:[0-9.]+|https?://[!-~]+")
_OF_AN_ANSWER = ("search", "response")
_NOT_HERE = {
    "POST": "Post to the type of the resource: QuestionnaireResponse or Patient.",
    "PUT": "Name QuestionnaireResponse/[id], or Type?identifier=system|value.",
}


class Wanted(Struct, frozen=True):
    """What one entry asks for. ``url`` is relative to the base; ``kind`` is the type in it."""

    index: int
    place: str
    method: str
    url: str
    kind: str
    full_url: str | None
    resource: Document | None
    if_match: str | None
    if_none_exist: str | None
    headers: tuple[tuple[str, str], ...]
    faults: tuple[Fault, ...]


def entries_of(raw: Any, base: str) -> tuple[str, tuple[Wanted, ...]]:
    """The kind of Bundle and its entries. Raises Refused where it is neither kind."""
    if not isinstance(raw, dict) or raw.get("resourceType") != "Bundle":
        text = "Must be a Bundle."
        raise refused((Fault("/Bundle/resourceType", "form.resource_type", text),))
    outside = {name: value for name, value in raw.items() if name != "entry"}
    faults = [*element_faults(outside, "Bundle", "/Bundle")]
    kind, entries = raw.get("type"), raw.get("entry", [])
    if kind not in KINDS:
        faults.append(Fault("/Bundle/type", "bundle.type", f"Must be: {' or '.join(KINDS)}."))
    if not isinstance(entries, list):
        faults.append(Fault("/Bundle/entry", "shape.type", "Must be an array."))
    elif len(entries) > MOST_ENTRIES:
        text = f"A Bundle may have {MOST_ENTRIES} entries: send several."
        faults.append(Fault("/Bundle/entry", "bundle.too_many", text))
    if faults:
        raise refused(faults)
    wanted = tuple([_wanted(one, index, base) for index, one in enumerate(entries)])
    return str(kind), _each_url_once(wanted)


def problem_of(entries: tuple[Wanted, ...]) -> Refused | None:
    """All faults of the entries of a transaction, which fails as a whole."""
    faults = [fault for entry in entries for fault in entry.faults]
    return refused(faults) if faults else None


def _wanted(entry: Any, index: int, base: str) -> Wanted:
    place = f"/Bundle/entry/{index}"
    if not isinstance(entry, dict):
        fault = Fault(place, "shape.type", "Must be an object.")
        return Wanted(index, place, "", "", "", None, None, None, None, (), (fault,))
    bare = {name: value for name, value in entry.items() if name != "resource"}
    faults = [*element_faults(bare, "Bundle.entry", place)]
    request = entry.get("request")
    asked: Document = request if isinstance(request, dict) else {}
    method, url = _text(asked, "method") or "", _text(asked, "url") or ""
    url = url.removeprefix(f"{base}/")
    resource = entry.get("resource")
    wanted = Wanted(
        index=index,
        place=place,
        method=method,
        url=url,
        kind=re.split(r"[/?]", url)[0],
        full_url=_text(entry, "fullUrl"),
        resource=resource if isinstance(resource, dict) else None,
        if_match=_text(asked, "ifMatch"),
        if_none_exist=_text(asked, "ifNoneExist"),
        headers=tuple(_conditions(asked)),
        faults=(),
    )
    faults.extend(_faults(wanted, entry))
    return _with(wanted, faults)


def _with(wanted: Wanted, faults: list[Fault]) -> Wanted:
    fields = {name: getattr(wanted, name) for name in Wanted.__struct_fields__}
    return Wanted(**{**fields, "faults": tuple(faults)})


def _faults(wanted: Wanted, entry: Document) -> Iterator[Fault]:
    place = wanted.place
    for name in _OF_AN_ANSWER:
        if name in entry:
            text = "This belongs to an answer, not to what is asked."
            yield Fault(f"{place}/{name}", "form.place", text)
    if wanted.full_url is not None and not _ABSOLUTE.fullmatch(wanted.full_url):
        text = "Must be urn:uuid: and a UUID, or an absolute address."
        yield Fault(f"{place}/fullUrl", "bundle.full_url", text)
    if "request" not in entry:
        yield Fault(f"{place}/request", "shape.missing", "This element must be sent.")
    elif wanted.method not in METHODS:
        text = f"Methods that are served here: {', '.join(METHODS)}."
        yield Fault(f"{place}/request/method", "bundle.method", text)
    elif wanted.method == "GET":
        yield from _read_faults(wanted)
    else:
        yield from _write_faults(wanted)


def _read_faults(wanted: Wanted) -> Iterator[Fault]:
    if wanted.resource is not None:
        text = "A read holds no resource."
        yield Fault(f"{wanted.place}/resource", "form.place", text)
    if not re.fullmatch(r"[A-Za-z$][A-Za-z0-9$/._-]*(\?[!-~]*)?", wanted.url) or ".." in wanted.url:
        text = "Must be an address below the base of this server."
        yield Fault(f"{wanted.place}/request/url", "bundle.url", text)


def _write_faults(wanted: Wanted) -> Iterator[Fault]:
    resource, url = wanted.resource, f"{wanted.place}/request/url"
    if resource is None:
        yield Fault(f"{wanted.place}/resource", "shape.missing", "This element must be sent.")
        return
    kind = resource.get("resourceType")
    if kind not in ("QuestionnaireResponse", "Patient"):
        text = "What can be written here: QuestionnaireResponse, and Patient beside it."
        yield Fault(f"{wanted.place}/resource/resourceType", "bundle.entry_type", text)
    elif kind != wanted.kind:
        yield Fault(url, "bundle.url", "Names another type than the resource is of.")
    elif wanted.method == "POST" and wanted.url != kind:
        yield Fault(url, "bundle.url", _NOT_HERE["POST"])
    elif wanted.method == "PUT" and not _updates(wanted.url, kind):
        yield Fault(url, "bundle.url", _NOT_HERE["PUT"])


def _updates(url: str, kind: str) -> bool:
    """By query; a response also by its id, a Patient not: its ids are ours to give."""
    if kind == "QuestionnaireResponse" and re.fullmatch(r"[A-Za-z]+/[A-Za-z0-9.-]{1,64}", url):
        return True
    return re.fullmatch(r"[A-Za-z]+\?identifier=[!-~]+", url) is not None


def _each_url_once(entries: tuple[Wanted, ...]) -> tuple[Wanted, ...]:
    seen: set[str] = set()
    told = []
    for one in entries:
        if one.full_url is not None and one.full_url in seen:
            text = "This fullUrl comes twice in the Bundle."
            fault = Fault(f"{one.place}/fullUrl", "bundle.full_url", text)
            told.append(_with(one, [*one.faults, fault]))
        else:
            told.append(one)
        seen.add(one.full_url or "")
    return tuple(told)


def _conditions(asked: Document) -> Iterator[tuple[str, str]]:
    for name, header in (
        ("ifNoneMatch", "if-none-match"),
        ("ifModifiedSince", "if-modified-since"),
    ):
        value = _text(asked, name)
        if value is not None:
            yield header, value


def _text(raw: Document, name: str) -> str | None:
    value = raw.get(name)
    return value if isinstance(value, str) else None
