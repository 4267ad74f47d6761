"""To whom do the references inside a transaction lead?"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any
from urllib.parse import parse_qsl

from service.domain.problem import Fault
from service.domain.value import Identifier
from service.fhir.read_bundle import Wanted
from service.fhir.read_items import Document
from service.fhir.read_person import Person, person_of

_REFERENCES = ("subject", "encounter", "author", "source")


def people_in(entries: Sequence[Wanted]) -> tuple[dict[int, Person], list[Fault]]:
    """The person of each Patient entry by its index, and the faults of all."""
    people: dict[int, Person] = {}
    faults: list[Fault] = []
    for entry in entries:
        if entry.method in ("POST", "PUT") and entry.kind == "Patient" and entry.resource:
            people[entry.index], found = person_of(entry.resource, f"{entry.place}/resource")
            faults.extend(found)
    return people, faults


def target_of(reference: str, entry: Wanted, urls: Mapping[str, int]) -> int | None:
    """The index of the entry that ``reference`` in ``entry`` leads to. A relative reference is
    read at the place of the entry itself; None where it leads out of the Bundle."""
    if reference in urls:
        return urls[reference]
    root = (entry.full_url or "").rsplit("/", 2)[0]
    return urls.get(f"{root}/{reference}") if root.startswith("http") else None


def urls_of(entries: Sequence[Wanted]) -> dict[str, int]:
    """fullUrl → index."""
    return {one.full_url: one.index for one in entries if one.full_url is not None}


def dangling(entry: Wanted, urls: Mapping[str, int]) -> Iterator[Fault]:
    """References of an entry to what should be in the Bundle and is not."""
    resource = entry.resource or {}
    for name in _REFERENCES:
        raw: Any = resource.get(name)
        reference = raw.get("reference") if isinstance(raw, dict) else None
        if isinstance(reference, str) and reference.startswith("urn:") and reference not in urls:
            place = f"{entry.place}/resource/{name}/reference"
            yield Fault(place, "bundle.unresolved", "No entry of the Bundle has this fullUrl.")


def identifier_asked(query: str) -> Identifier | None:
    """``identifier=system|value``, percent-encoded, and nothing else beside it."""
    try:
        parameters = parse_qsl(query.lstrip("?"), keep_blank_values=True, strict_parsing=True)
    except ValueError:
        return None
    if [name for name, _ in parameters] != ["identifier"]:
        return None
    system, bar, value = parameters[0][1].partition("|")
    return Identifier(system=system, value=value) if system and bar and value else None


def own_patient(reference: str, base: str) -> str | None:
    """The id in a reference to a Patient of ours."""
    kind, _, rest = reference.removeprefix(f"{base}/").partition("/")
    named = rest.partition("/_history/")[0]
    return named if kind == "Patient" and named and "/" not in named else None


def identifier_said(document: Document) -> Identifier | None:
    """The person's identifier as far as it has been read."""
    said = (document.get("patient") or {}).get("identifier") or {}
    system, value = said.get("system"), said.get("value")
    if isinstance(system, str) and isinstance(value, str) and system and value:
        return Identifier(system=system, value=value)
    return None
