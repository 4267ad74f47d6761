"""Does the narrative of an Observation say its values, and no number that it does not hold?"""

import re
from collections.abc import Iterator
from datetime import datetime
from html import unescape
from typing import Any

from service.fhir.text import clock_time

Document = dict[str, Any]
_TAG = re.compile("<[^>]+>")
_NUMBER = re.compile(r"(?<![\w.])[+-]?\d+(?:\.\d+)?")
_IN_ERROR = "Entered in error"


def narrative_faults(one: Document) -> list[str]:
    """``one``: read so that numbers keep their digits."""
    told = unescape(_TAG.sub(" ", one["text"]["div"]))
    unsaid = [f"unsaid: {each}" for each in _values(one) if each.lower() not in told.lower()]
    held = {number for text in _texts(one) for number in _NUMBER.findall(text)}
    unheld = [f"not held: {each}" for each in _NUMBER.findall(told) if each not in held]
    return [*unsaid, *unheld]


def _values(one: Document) -> Iterator[str]:
    """What has to be read in it, each as people write it."""
    yield one["code"]["text"]
    for part in (one, *one.get("component", ())):
        yield from _value(part)
    for part in one.get("component", ()):
        yield part["code"]["text"]
    for note in one.get("note", ()):
        yield note["text"]
    if one["status"] == "entered-in-error":
        yield _IN_ERROR


def _value(part: Document) -> Iterator[str]:
    if "valueQuantity" in part:
        scored = part["valueQuantity"]["code"] == "{score}"
        unit = "" if scored else f" {part['valueQuantity']['unit']}"
        yield f"{part['valueQuantity']['value']}{unit}"
    if "valueInteger" in part:
        yield str(part["valueInteger"])
    if "valueBoolean" in part:
        yield "yes" if part["valueBoolean"] else "no"
    for name in ("valueCodeableConcept", "dataAbsentReason"):
        if name in part:
            yield part[name]["text"]


def _texts(one: Document) -> Iterator[str]:
    """All that it holds but the narrative, when it was seen, and how many members it has."""
    yield from _leaves({name: value for name, value in one.items() if name != "text"})
    seen = datetime.fromisoformat(one["effectiveDateTime"])
    yield clock_time(seen, seen)
    yield str(len(one.get("hasMember", ())))


def _leaves(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        value = list(value.values())
    if not isinstance(value, list):
        yield str(value)
        return
    for each in value:
        yield from _leaves(each)
