"""Do the invariants of the standard hold by an engine that neither validator has a part in?"""

import json
from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest

from service.demo.scenario import here
from service.fhir.bundle import bundle_of
from service.fhir.encode import bytes_of
from tests.fhir.answers import FULL, SITE, STATES, answer_to
from tests.fhir.invariants import NOT_EVALUATED, elements, invariant_faults, places
from tests.fhir.shapes import Shapes

Document = dict[str, Any]
Plant = Callable[[Document], None]
SAMPLES = sorted(here().glob("*/answer.fhir.json"))
MADE = {name: json.loads(bytes_of(bundle_of(SITE, made()))) for name, made in STATES.items()}
FULLEST: Document = json.loads(bytes_of(bundle_of(SITE, answer_to(FULL))))


def new_in(bundles: list[Document]) -> list[Document]:
    """What is new in each, whose shape is all that an invariant can tell apart; comparisons of
    values are tests/fhir/own_checks.py's."""
    shapes = Shapes()
    found = [shapes.unseen(one["resource"]) for bundle in bundles for one in bundle["entry"]]
    return [one for one in found if one is not None]


def test_they_hold_for_every_sample() -> None:
    bundles = [json.loads(path.read_bytes()) for path in SAMPLES]
    assert len(bundles) >= 19
    assert [fault for one in new_in(bundles) for fault in invariant_faults(one)] == []


def test_they_hold_in_every_state() -> None:
    found = [fault for one in new_in([*MADE.values()]) for fault in invariant_faults(one)]
    assert found == []


def test_they_hold_for_a_whole_bundle() -> None:
    assert invariant_faults(FULLEST) == []


def test_those_that_are_asked_are_all_that_the_standard_has_there() -> None:
    asked = {key for place in places(FULLEST) for key, _ in place.rules}

    assert asked >= {
        "bdl-1", "bdl-2", "bdl-3", "bdl-4", "bdl-5", "bdl-7", "bdl-8", "bdl-9", "cpl-3", "dom-2",
        "dom-3", "dom-4", "dom-5", "dom-6", "ele-1", "ext-1", "obs-3", "obs-6", "obs-7", "per-1",
        "qrs-1", "qty-3", "ref-1",
    }  # fmt: skip
    assert not asked & set(NOT_EVALUATED)


def first(kind: str, having: str) -> Document:
    """The first resource of its kind that has this element."""
    resources = (entry["resource"] for entry in FULLEST["entry"])
    return deepcopy(next(o for o in resources if o["resourceType"] == kind and having in o))


def put(name: str, value: Any) -> Plant:
    return lambda one: one.__setitem__(name, value)


def both_named(one: Document) -> None:
    one["valueInteger"] = 1
    one["component"] = [{"code": one["code"], "valueInteger": 1}]


def deep_item(one: Document) -> None:
    group = next(item for item in one["item"] if "item" in item)
    group["item"][0]["item"] = [{"linkId": "a", "item": [{"linkId": "b"}],
                                 "answer": [{"valueBoolean": True}]}]  # fmt: skip


TEXT = {"status": "generated", "div": '<div xmlns="http://www.w3.org/1999/xhtml">a</div>'}
INSIDE = {"resourceType": "Device", "id": "a", "meta": {"versionId": "1"}}
PERIOD = {"start": "2026-03-04T08:00:00Z", "end": "2026-03-03T08:00:00Z"}
PLANTS: list[tuple[str, str, str, Plant]] = [
    ("obs-6", "Observation", "valueInteger", put("dataAbsentReason", {"text": "a"})),
    ("obs-7", "Observation", "valueInteger", both_named),
    ("obs-3", "Observation", "status", put("referenceRange", [{"appliesTo": [{"text": "a"}]}])),
    ("ext-1", "Observation", "status", put("extension", [{"url": "urn:a"}])),
    ("qty-3", "Observation", "status", put("valueQuantity", {"value": 1, "code": "kg"})),
    ("dom-6", "Observation", "text", lambda one: one.pop("text")),
    ("cpl-3", "CarePlan", "activity",
     lambda one: one["activity"][0].__setitem__("reference", {"display": "a"})),
    ("per-1", "CarePlan", "period", put("period", PERIOD)),
    ("dom-2", "CarePlan", "status", put("contained", [{**INSIDE, "contained": [INSIDE]}])),
    ("dom-3", "CarePlan", "status", put("contained", [INSIDE])),
    ("dom-4", "CarePlan", "status", put("contained", [INSIDE])),
    ("dom-5", "CarePlan", "status", put("contained", [
        {**INSIDE, "meta": {"security": [{"code": "a"}]}}])),
    ("ref-1", "CarePlan", "status", put("author", {"reference": "#nothing"})),
    ("qrs-1", "QuestionnaireResponse", "item", deep_item),
    ("att-1", "Patient", "id", put("photo", [{"data": "YQ=="}])),
    ("pat-1", "Patient", "id", put("contact", [{"gender": "female"}])),
    ("bdl-7", "Bundle", "entry", lambda one: one["entry"].append(one["entry"][0])),
    ("bdl-8", "Bundle", "entry",
     lambda one: one["entry"][0].__setitem__("fullUrl", "https://a.example/Patient/a/_history/1")),
    ("bdl-1", "Bundle", "entry", put("total", 1)),
    ("bdl-3", "Bundle", "entry",
     lambda one: one["entry"][0].__setitem__("request", {"method": "GET", "url": "a"})),
]  # fmt: skip


@pytest.mark.parametrize(
    ("key", "kind", "having", "plant"), PLANTS, ids=[f"{one[0]}" for one in PLANTS]
)
def test_what_breaks_one_is_seen(key: str, kind: str, having: str, plant: Plant) -> None:
    broken = deepcopy(FULLEST) if kind == "Bundle" else first(kind, having)
    assert invariant_faults(broken) == []

    plant(broken)

    found = invariant_faults(broken)
    assert any(fault.endswith(f": {key}") for fault in found), found


def test_the_expressions_come_from_the_official_package() -> None:
    rules = dict(elements("Observation")["Observation"].rules)
    assert "dataAbsentReason" in rules["obs-6"]
    assert dict(elements("QuestionnaireResponse")["QuestionnaireResponse.item"].rules)["qrs-1"]
    assert elements("QuestionnaireResponse")["QuestionnaireResponse.item.item"].same
