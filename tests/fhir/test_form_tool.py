"""Does what a form tool makes of the published form alone come in as the screen that was seen?"""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings

from service.domain.json_text import parse
from service.domain.screen import Screen
from service.fhir.definitions.questionnaire import questionnaire
from service.fhir.encode import bytes_of
from service.fhir.read_form import questions_of
from service.fhir.read_values import VALUE_OF
from tests.fhir.answers import BARE, FULL, HELPED, SITE
from tests.fhir.responses import Raw, json_of, read_screen
from tests.strategies import screens

PUBLISHED: Raw = parse(bytes_of(questionnaire(SITE)))
UNIT = "http://hl7.org/fhir/StructureDefinition/questionnaire-unitOption"
VALUES = {
    "boolean": "valueBoolean", "choice": "valueCoding", "date": "valueDate",
    "dateTime": "valueDateTime", "integer": "valueInteger", "quantity": "valueQuantity",
    "string": "valueString", "text": "valueString", "url": "valueUri",
}  # fmt: skip


def fill(items: list[Raw], seen: Any) -> list[Raw]:
    """The items of the form as a tool answers them; what was not seen is left out."""
    return [made for item in items for made in _item(item, seen)]


def _item(item: Raw, seen: Any) -> Iterator[Raw]:
    link, kind = item["linkId"], item["type"]
    name = link.rpartition(".")[2]
    if kind == "display":
        return
    if name == "unable":
        field = link.split(".")[-2]
        if field in seen and seen[field] is None:
            yield {"linkId": link, "answer": [{"valueBoolean": True}]}
    elif name == "there":
        if not any(one is not None for one in seen.values()):
            yield {"linkId": link, "answer": [{"valueBoolean": True}]}
    elif kind == "group":
        yield from _group(item, seen.get("devices" if name == "listed" else name))
    elif seen.get(name) is not None:
        yield {"linkId": link, "answer": [_answer(item, one) for one in _each(item, seen[name])]}


def _group(item: Raw, seen: Any) -> Iterator[Raw]:
    if seen is None or seen == "any":
        return
    for one in seen if isinstance(seen, list) else [seen]:
        yield {"linkId": item["linkId"], "item": fill(item.get("item", []), one)}


def _each(item: Raw, seen: Any) -> list[Any]:
    if item["linkId"] == "context.devices":
        return ["any" if seen == "any" else "listed"]
    if not isinstance(seen, list):
        return [seen]
    return seen or ["none"]


def _answer(item: Raw, seen: Any) -> Raw:
    name = VALUES[item["type"]]
    if name == "valueCoding":
        options = [option["valueCoding"] for option in item["answerOption"]]
        return {name: next(one for one in options if one["code"] == seen)}
    if name == "valueQuantity":
        unit = next(one["valueCoding"] for one in item["extension"] if one["url"] == UNIT)
        said = {key: unit[key] for key in ("system", "code")}
        return {name: {"value": seen, "unit": unit.get("display", unit["code"]), **said}}
    return {name: seen}


def answered(screen: Screen) -> Raw:
    seen = parse(msgspec.json.Encoder(decimal_format="number").encode(screen))
    for room, name in (("readiness", "symptoms"), ("orders", "prosthesis_worn")):
        seen[room][name] = seen[room][name] or None
    filled = fill(PUBLISHED["item"], seen)
    return {
        "resourceType": "QuestionnaireResponse",
        "meta": {"tag": [{"code": "form-tool"}]},
        "questionnaire": f"{PUBLISHED['url']}|{PUBLISHED['version']}",
        "status": "completed",
        "authored": seen["observed_at"],
        "item": _without_empty(filled),
    }


def _without_empty(items: list[Raw]) -> list[Raw]:
    """Tools leave the list of items out where a group has none."""
    return [
        {**item, "item": _without_empty(item["item"])}
        if item.get("item")
        else {key: value for key, value in item.items() if key != "item"}
        for item in items
    ]


def all_questions(items: list[Raw]) -> Iterator[Raw]:
    for item in items:
        yield item
        yield from all_questions(item.get("item", []))


def test_every_question_of_the_published_form_is_read_in_the_type_it_is_asked_in() -> None:
    questions = questions_of(SITE.form)
    asked = [one for one in all_questions(PUBLISHED["item"]) if one["type"] != "display"]
    assert {one["linkId"] for one in asked} == set(questions)
    for one in asked:
        read = questions[one["linkId"]].item
        if one["type"] == "group":
            assert read.kind in ("group", "each")
        else:
            assert VALUE_OF[read.kind] == VALUES[one["type"]], one["linkId"]


@pytest.mark.parametrize("screen", [FULL, HELPED, BARE], ids=["full", "helped", "bare"])
def test_a_tool_that_knows_the_form_alone_sends_the_screen(screen: Screen) -> None:
    assert read_screen(answered(screen)) == screen


@settings(max_examples=25)
@given(screen=screens())
def test_any_screen_can_be_answered_with_the_form_alone(screen: Screen) -> None:
    raw: Raw = parse(json_of(answered(screen)))
    assert read_screen(raw) == screen


def padded(asked: list[Raw], given: list[Raw]) -> list[Raw]:
    """``given`` with every item that was not answered beside it, as some tools send it."""
    made = []
    for item in asked:
        found = [one for one in given if one["linkId"] == item["linkId"]]
        if item.get("repeats") and item["type"] == "group":
            found.append({"linkId": item["linkId"]})
        for one in found or [{"linkId": item["linkId"]}]:
            inner = padded(item.get("item", []), one.get("item", []))
            made.append({**one, "item": inner} if inner else one)
    return made


@pytest.mark.parametrize("screen", [FULL, HELPED, BARE], ids=["full", "helped", "bare"])
def test_a_tool_that_sends_every_item_says_no_more_than_it_was_answered(screen: Screen) -> None:
    raw = answered(screen)
    raw["item"] = padded(PUBLISHED["item"], raw["item"])
    assert {one["linkId"] for one in all_questions(raw["item"])} == {
        one["linkId"] for one in all_questions(PUBLISHED["item"])
    }
    assert read_screen(raw) == screen


@settings(max_examples=25)
@given(screen=screens())
def test_any_screen_comes_in_from_a_tool_that_sends_every_item(screen: Screen) -> None:
    raw = answered(screen)
    raw["item"] = padded(PUBLISHED["item"], raw["item"])
    assert read_screen(parse(json_of(raw))) == screen


def test_digits_go_through_the_form() -> None:
    mass = read_screen(answered(FULL)).patient.mass_kg
    assert mass is not None
    assert (mass, str(mass)) == (Decimal("72.50"), "72.50")
