"""What must a search find? By the standard's own expression of each parameter, on the resources.

Nothing of the server is used: the expressions come from the official package and are evaluated by
an engine of FHIRPath; how dates compare is written down here from the standard's table of prefixes.
"""

import json
import re
import tarfile
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any, NamedTuple

import fhirpathpy
from fhirpathpy.models import models

from tests.clients.driver import Document
from tests.fhir.validators import definitions

R4 = models["r4"]
PATIENTS = ".where(resolve() is Patient)"
FOREVER = datetime(9999, 1, 1, tzinfo=UTC)
LONG_AGO = datetime(1, 1, 2, tzinfo=UTC)


class Span(NamedTuple):
    """From ``low`` up to, but not with, ``high``."""

    low: datetime
    high: datetime


@cache
def expressions() -> dict[str, str]:
    """Canonical → expression of every search parameter of the standard."""
    found = {}
    with tarfile.open(definitions()) as package:
        for member in package:
            if not member.name.startswith("package/SearchParameter-"):
                continue
            file = package.extractfile(member)
            assert file is not None
            read = json.load(file)
            found[read["url"]] = read.get("expression", "")
    return found


def found_in(resource: Document, definition: str) -> list[Any]:
    """What the parameter reads in a resource. Which references lead to a patient is known by
    their form here, so none needs to be followed."""
    kind = resource["resourceType"]
    values: list[Any] = []
    for part in expressions()[definition].split("|"):
        own = re.sub(r"^Resource\b", kind, part.strip())
        if not own.startswith(kind):
            continue
        plain = own.replace(PATIENTS, "")
        read = fhirpathpy.evaluate(resource, plain, {}, R4)
        values += [one for one in read if plain == own or _is_patient(one)]
    return values


def _is_patient(value: Document) -> bool:
    return str(value.get("reference", "")).startswith("Patient/")


def tokens_of(values: list[Any]) -> set[tuple[str | None, str]]:
    """(system, code) of each; the system is None where the element has none of its own."""
    return {token for value in values for token in _tokens(value)}


def _tokens(value: Any) -> Iterator[tuple[str | None, str]]:
    if isinstance(value, str):
        yield None, value
    elif "coding" in value or "text" in value:
        for coding in value.get("coding", ()):
            yield coding.get("system"), coding["code"]
    elif "value" in value:
        yield value.get("system"), value["value"]


def references_of(values: list[Any]) -> set[str]:
    """Where each leads, whichever version of it."""
    return {one["reference"].partition("/_history/")[0] for one in values if "reference" in one}


def spans_of(values: list[Any]) -> list[Span]:
    return [_span(value) for value in values]


def _span(value: Any) -> Span:
    if isinstance(value, dict):
        low = span_of(value["start"]).low if "start" in value else LONG_AGO
        return Span(low, span_of(value["end"]).high if "end" in value else FOREVER)
    return span_of(str(value))


def span_of(text: str) -> Span:
    """The time that a date names, by how exactly it names it."""
    if len(text) == len("2026"):
        year = int(text)
        return Span(datetime(year, 1, 1, tzinfo=UTC), datetime(year + 1, 1, 1, tzinfo=UTC))
    low = datetime.fromisoformat(text)
    low = low if low.tzinfo else low.replace(tzinfo=UTC)
    if len(text) == len("2026-03-04"):
        return Span(low, low + timedelta(days=1))
    exact = "." in text
    return Span(low, low + (timedelta(microseconds=1) if exact else timedelta(seconds=1)))


PREFIXES: dict[str, Callable[[Span, Span], bool]] = {
    "eq": lambda asked, told: asked.low <= told.low and told.high <= asked.high,
    "ne": lambda asked, told: not (asked.low <= told.low and told.high <= asked.high),
    "gt": lambda asked, told: told.high > asked.high,
    "lt": lambda asked, told: told.low < asked.low,
    "ge": lambda asked, told: (
        told.high > asked.high or (asked.low <= told.low and told.high <= asked.high)
    ),
    "le": lambda asked, told: (
        told.low < asked.low or (asked.low <= told.low and told.high <= asked.high)
    ),
    "sa": lambda asked, told: told.low >= asked.high,
    "eb": lambda asked, told: told.high <= asked.low,
}
