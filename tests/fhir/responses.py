"""Which responses do the tests of reading send? Ours as they go out, and bent ones."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import msgspec
from msgspec.structs import replace

from service.domain.json_text import parse
from service.domain.problem import Refused
from service.domain.screen import Screen
from service.fhir.encode import bytes_of
from service.fhir.questionnaire_response import response_of
from service.fhir.read_person import Person
from service.fhir.read_response import draft_of, screen_of
from tests.fhir.answers import BARE, FULL, SITE, answer_to

Raw = dict[str, Any]
FORM = "https://stanchion.example/fhir/Questionnaire/bedside-mobility-screen"
Told = list[tuple[str, str]]


def response_to(screen: Screen) -> Raw:
    """The response to ``screen`` as it goes out and is read again, digits kept."""
    raw: Raw = parse(bytes_of(response_of(SITE, replace(answer_to(BARE).screen, content=screen))))
    return raw


def full() -> Raw:
    return response_to(FULL)


def bare() -> Raw:
    return response_to(BARE)


def plain(screen: Screen = FULL) -> Raw:
    """What a form tool sends: the items and nothing that is ours; no texts."""
    raw = response_to(screen)
    for name in ("id", "meta", "text", "identifier", "subject", "encounter", "author"):
        raw.pop(name, None)
    for item in all_items(raw):
        item.pop("text", None)
    return raw


def all_items(raw: Raw) -> Iterator[Raw]:
    for item in raw.get("item", []):
        yield item
        yield from all_items(item)


def item_of(raw: Raw, link: str) -> Raw:
    """The first item with this link id."""
    return next(item for item in all_items(raw) if item["linkId"] == link)


def answer_of(raw: Raw, link: str) -> Raw:
    answer: Raw = item_of(raw, link)["answer"][0]
    return answer


def without(raw: Raw, *links: str) -> Raw:
    """``raw`` without the items of these link ids."""
    kept = [without(item, *links) for item in raw.get("item", []) if item["linkId"] not in links]
    return {**raw, "item": kept} if "item" in raw else raw


def read_screen(raw: Any, person: Person | None = None) -> Screen:
    return screen_of(draft_of(SITE, raw), person)


def faults_of(raw: Any, person: Person | None = None) -> Told:
    """Place and rule of every fault, the root of the places left out."""
    try:
        read_screen(raw, person)
    except Refused as problem:
        return [
            (fault.path.removeprefix("/QuestionnaireResponse"), fault.rule)
            for fault in problem.faults
        ]
    return []


def json_of(raw: Raw) -> bytes:
    return msgspec.json.Encoder(decimal_format="number").encode(raw)


def kilograms(value: str) -> Raw:
    return {
        "value": Decimal(value),
        "unit": "kg",
        "system": "http://unitsofmeasure.org",
        "code": "kg",
    }
