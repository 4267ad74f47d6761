"""What does a reference to someone or something say, and does it agree with the items?

Stays and assessors are not ours to serve: they are known by their business identifiers.
"""

import re
from typing import Any

from service.fhir.read_items import Document, Reading

_DAY = len("2026-03-04")
_TYPE_IN = re.compile(r"(?:.*/)?([A-Z][A-Za-z]+)(?:/[^/?]+(?:/_history/.+)?|\?.+)")
"""A literal reference or a conditional one; what is neither leads to no type that could be told."""


def identifier_in(reading: Reading, raw: Any, place: str) -> Document | None:
    """System and value, both needed; None with a fault where they are not there."""
    said, observed = object_of(raw), reading.document.get("observed_at")
    system, value = said.get("system"), said.get("value")
    used = said.get("use") != "old" and not is_over(until(said), observed)
    if isinstance(system, str) and isinstance(value, str) and used:
        return {"system": system, "value": value}
    reading.fault(place, "form.identifier", "Needs system and value, and to be in use.")
    return None


def until(identifier: Document) -> str:
    """The last day, month or year in which an identifier is in use; empty where none is said."""
    end = object_of(identifier.get("period")).get("end")
    return end[:_DAY] if isinstance(end, str) else ""


def is_over(end: str, observed: Any) -> bool:
    return end != "" and isinstance(observed, str) and end < observed[: len(end)]


def hold_reference(
    reading: Reading, into: Document, native: str, reference: Document, place: str
) -> None:
    """What a reference says of someone or something that is not ours to serve."""
    name = native.rpartition("/")[2]
    if "identifier" in reference:
        known = identifier_in(reading, reference["identifier"], f"{place}/identifier")
        if known is not None:
            agree(reading, into, native, known, f"{place}/identifier")
    elif name not in into and native not in reading.lost:
        text = "A reference cannot be followed from here: send its identifier."
        reading.fault(place, "form.reference", text)
        reading.lost.add(native)


def agree(reading: Reading, into: Document, native: str, known: Document, place: str) -> None:
    """Let ``known`` stand where nothing was answered, and fit what was."""
    said = into.setdefault(native.rpartition("/")[2], {})
    if not isinstance(said, dict):
        return
    if any(said.get(part, text) != text for part, text in known.items()):
        link = native[1:].replace("/", ".")
        reading.fault(place, "form.disagrees", f"The items of {link} say something else.")
        return
    reading.places.setdefault(native, place)
    for part, text in known.items():
        if f"{native}/{part}" not in reading.lost:
            said.setdefault(part, text)
            reading.places.setdefault(f"{native}/{part}", f"{place}/{part}")


def must_be_a(reading: Reading, reference: Document, kinds: tuple[str, ...], place: str) -> None:
    """Both the type that a reference says and the one that it leads to are among ``kinds``."""
    found = _TYPE_IN.fullmatch(_reference_in(reference))
    said = [reference["type"]] if "type" in reference else []
    if not all(kind in kinds for kind in (*said, *(found.groups() if found else ()))):
        text = f"Must refer to: {' or '.join(kinds)}."
        reading.fault(place, "form.reference", text)


def _reference_in(reference: Document) -> str:
    text = reference.get("reference")
    return text if isinstance(text, str) else ""


def object_of(raw: Any) -> Document:
    return raw if isinstance(raw, dict) else {}
