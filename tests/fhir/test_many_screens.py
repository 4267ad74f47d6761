"""Has any of thousands of screens an answer with a fault that somebody's validator finds?"""

import json
import re
from collections.abc import Callable, Iterator
from copy import deepcopy
from typing import Any, NamedTuple

import fhirkit
import msgspec
import pytest

from service.domain.screen import Screen
from service.fhir.bundle import bundle_of
from service.fhir.encode import bytes_of
from tests.clients.smart_python import strict
from tests.fhir.answers import SITE
from tests.fhir.many_screens import answers, dealt, drawn
from tests.fhir.own_checks import bundle_faults
from tests.fhir.shapes import Shapes
from tests.fhir.validators import form_faults, official_faults, parse_faults, read

MANY = 2000
WHOLE = 200
"""Every so many answers, one goes through every check with nothing left out."""
LATE = 100
MOMENT = re.compile(rb"\d{4}-\d\d-\d\dT[0-9:.Z+-]+")
# Counting the lines of so many answers triples the time and proves nothing.
pytestmark = pytest.mark.no_cover
Document = dict[str, Any]
Plant = Callable[[Document], None]


class Entry(msgspec.Struct):
    resource: msgspec.Raw


class Entries(msgspec.Struct):
    entry: list[Entry]


@pytest.fixture(scope="module")
def screens() -> list[Screen]:
    return dealt(drawn(), MANY)


@pytest.fixture(scope="module")
def bundles(screens: list[Screen]) -> list[bytes]:
    return [bytes_of(bundle_of(SITE, answer)) for answer in answers(screens)]


def members(raw: bytes) -> list[Document]:
    document: Document = msgspec.json.decode(raw)
    return [entry["resource"] for entry in document["entry"]]


def faults(resource: Document) -> list[str]:
    """By both validators."""
    return [*official_faults(resource), *form_faults(json.dumps(resource).encode())]


class Looked(NamedTuple):
    """The shapes of all but the last hundred bundles, and what was new in any."""

    before: Shapes
    new: list[Document]


@pytest.fixture(scope="module")
def looked(bundles: list[bytes]) -> Looked:
    before = Shapes()
    new = list(unseen(bundles[:-LATE], before))
    return Looked(before, [*new, *unseen(bundles[-LATE:], Shapes(before))])


def unseen(bundles: list[bytes], shapes: Shapes) -> Iterator[Document]:
    """What is new in each; what differs from another in nothing but moments is passed over."""
    passed = set()
    for raw in bundles:
        for resource in msgspec.json.decode(raw, type=Entries).entry:
            timeless = MOMENT.sub(b"", resource.resource)
            if timeless in passed:
                continue
            passed.add(timeless)
            new = shapes.unseen(msgspec.json.decode(resource.resource))
            if new is not None:
                yield new


def test_hardly_two_screens_of_them_are_alike(screens: list[Screen]) -> None:
    assert len(screens) == MANY
    assert len({msgspec.json.encode(one) for one in screens}) > MANY * 9 // 10


def test_the_fast_validator_finds_no_fault_in_any(bundles: list[bytes]) -> None:
    found = {f"{one.path}: {one.message}" for raw in bundles for one in fhirkit.validate(raw)}
    assert found == set()


def test_nobody_finds_a_fault_in_any_shape_of_them(looked: Looked) -> None:
    found = set()
    for one in looked.new:
        found.update([*faults(one), *parse_faults(json.dumps(one).encode())])
        strict(one)
    assert sorted(found)[:5] == []
    assert len(looked.new) > LATE


def test_every_kind_that_answers_a_screen_is_among_them(looked: Looked) -> None:
    assert {one["resourceType"] for one in looked.new} == {
        "Patient", "QuestionnaireResponse", "Observation", "CarePlan", "Goal", "Flag", "Task",
        "Provenance",
    }  # fmt: skip


def test_some_go_through_every_check_whole(bundles: list[bytes]) -> None:
    for raw in bundles[::WHOLE]:
        assert bundle_faults(read(raw)) == []
        assert form_faults(raw) == []
        assert parse_faults(raw) == []


def put(name: str, value: Any) -> Plant:
    return lambda one: one.__setitem__(name, value)


def without(name: str) -> Plant:
    return lambda one: one.__delitem__(name)


def detail(name: str, value: Any) -> Plant:
    return lambda one: one["activity"][-1]["detail"].__setitem__(name, value)


def deepest(change: Plant) -> Plant:
    """``change`` of the last item of the last group of a response."""

    def plant(one: Document) -> None:
        item = one["item"][-1]
        while "item" in item:
            item = item["item"][-1]
        change(item)

    return plant


PLANTS: dict[str, tuple[str, Plant, str]] = {
    "a status that is none": ("Observation", put("status", "done"), "status"),
    "no status": ("Observation", without("status"), "status"),
    "no code": ("Observation", without("code"), "code"),
    "a value and why there is none": ("Observation", put("valueInteger", 1), "value"),
    "an element nobody knows": ("Observation", put("unheardOf", 1), "unheardOf"),
    "a text for a number": ("Observation", put("valueInteger", "1"), "value"),
    "a list for one": ("Observation", put("status", ["final"]), "status"),
    "a day that is none": ("Observation", put("issued", "yesterday"), "issued"),
    "a reference to what may not be there": (
        "Observation", put("derivedFrom", [{"reference": "Patient/1"}]), "derivedFrom"),
    "an intent that is none": ("CarePlan", put("intent", "wish"), "intent"),
    "no subject": ("CarePlan", without("subject"), "subject"),
    "a move without a state": (
        "CarePlan", lambda one: one["activity"][-1]["detail"].pop("status"), "status"),
    "a move of a state that is none": ("CarePlan", detail("status", "soon"), "status"),
    "a kind of move that is none": ("CarePlan", detail("kind", "Patient"), "kind"),
    "detail and reference": (
        "CarePlan",
        lambda one: one["activity"][-1].__setitem__("reference", {"reference": "Task/1"}),
        "cpl-3",
    ),
    "an extension with a value and parts": (
        "CarePlan",
        lambda one: one.__setitem__("extension", [
            {"url": "urn:a", "valueString": "a", "extension": [
                {"url": "urn:b", "valueString": "b"}]}]),
        "ext-1",
    ),
    "a gender that is none": ("Patient", put("gender", "f"), "gender"),
    "a birthday with a time": ("Patient", put("birthDate", "1950-01-01T00:00:00Z"), "birthDate"),
    "no target": ("Provenance", without("target"), "target"),
    "no agent": ("Provenance", without("agent"), "agent"),
    "an answer to nothing": (
        "QuestionnaireResponse", deepest(without("linkId")), "linkId"),
    "an answer with two values": (
        "QuestionnaireResponse",
        deepest(lambda item: item["answer"][0].update(valueInteger=1, valueString="a")),
        "only one type",
    ),
    "an answer and items beside it": (
        "QuestionnaireResponse",
        deepest(lambda item: item.__setitem__("item", [{"linkId": "a"}])),
        "qrs-1",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("kind", "plant", "said"), PLANTS.values(), ids=PLANTS.keys())
def test_a_fault_planted_after_thousands_is_still_looked_at_and_found(
    kind: str, plant: Plant, said: str, bundles: list[bytes], looked: Looked
) -> None:
    (first, *_) = (one for one in members(bundles[-1]) if one["resourceType"] == kind)
    faulty = deepcopy(first)
    if said == "value" and kind == "Observation":
        faulty["dataAbsentReason"] = {"text": "a"}
    plant(faulty)
    whole = faults(faulty)
    new = Shapes(looked.before).unseen(faulty)

    assert any(said in fault for fault in whole), whole
    assert new is not None
    found = faults(new)
    assert any(said in fault for fault in found), found


def test_what_was_seen_is_not_looked_at_again(bundles: list[bytes]) -> None:
    shapes = Shapes()
    resources = members(bundles[0])
    assert shapes.unseen(deepcopy(resources[0])) == resources[0]
    for resource in resources:
        shapes.unseen(resource)

    assert [shapes.unseen(resource) for resource in members(bundles[0])] == [None] * len(resources)


def test_other_words_and_numbers_are_no_new_shape_but_other_codes_are() -> None:
    shapes = Shapes()
    one = {"resourceType": "Observation", "status": "final", "note": [{"text": "left"}]}
    assert shapes.unseen(one) is not None
    assert shapes.unseen({**one, "note": [{"text": "right"}]}) is None
    assert shapes.unseen({**one, "status": "amended"}) is not None
    assert shapes.unseen({**one, "note": [{"text": " "}]}) is not None


def test_of_many_items_only_the_new_ones_are_kept() -> None:
    shapes = Shapes()
    old, new = {"linkId": "a"}, {"linkId": "b", "answer": [{"valueInteger": 2}]}
    response = {"resourceType": "QuestionnaireResponse", "item": [old, old]}
    shapes.unseen(response)

    kept = shapes.unseen({**response, "item": [old, new]})

    assert kept is not None
    assert kept["item"] == [new]
