"""Is each invariant seen when it is broken, where it is broken, and by nothing else?"""

from typing import Any

import pytest

from service.fhir.base_facts import known_types, type_facts
from service.fhir.validate_invariants import (
    constraints_of,
    effort,
    holds,
    invariant_findings,
    words_of,
)
from service.fhir.validate_native import NATIVE
from service.fhir.validate_native_wholes import NATIVE_WHOLES
from service.fhir.validate_tree import Node, Within, walk
from service.fhir.validate_words import WORDS
from tests.fhir.broken import OBSERVATION, changed

BUNDLE: dict[str, Any] = {"resourceType": "Bundle", "type": "collection"}
GOAL = {"resourceType": "Goal", "lifecycleStatus": "active", "description": {"text": "x"},
        "subject": {"reference": "Patient/p"}}  # fmt: skip
FORM: dict[str, Any] = {"resourceType": "Questionnaire", "status": "draft"}


def broken(resource: Any) -> list[tuple[str, str]]:
    return [
        (found.key, found.path)
        for node in walk(resource).nodes
        for found in invariant_findings(node)
        if found.key != "dom-6"
    ]


CASES = [
    (OBSERVATION, "dataAbsentReason", {"text": "x"}, "obs-6", "Observation"),
    (OBSERVATION, "referenceRange", [{"appliesTo": [{"text": "x"}]}], "obs-3",
     "Observation.referenceRange[0]"),
    (BUNDLE, "total", 3, "bdl-1", "Bundle"),
    (BUNDLE, "entry", [{"search": {"mode": "match"}, "resource": OBSERVATION}], "bdl-2", "Bundle"),
    ({**BUNDLE, "type": "transaction"}, "entry", [{"resource": OBSERVATION}], "bdl-3", "Bundle"),
    (BUNDLE, "entry", [{"response": {"status": "200"}, "resource": OBSERVATION}], "bdl-4",
     "Bundle"),
    (BUNDLE, "entry", [{"link": [{"relation": "self", "url": "x"}]}], "bdl-5", "Bundle.entry[0]"),
    (BUNDLE, "entry", [{"fullUrl": "http://a/b/_history/1", "resource": OBSERVATION}], "bdl-8",
     "Bundle.entry[0]"),
    ({**BUNDLE, "type": "document", "timestamp": "2026-01-31T00:00:00Z"}, "timestamp", ...,
     "bdl-10", "Bundle"),
    (GOAL, "target", [{"detailString": "x"}], "gol-1", "Goal.target[0]"),
    ({"resourceType": "Patient"}, "contact", [{"gender": "male"}], "pat-1", "Patient.contact[0]"),
    ({"resourceType": "Patient"}, "telecom", [{"value": "1"}], "cpt-2", "Patient.telecom[0]"),
    ({"resourceType": "Patient"}, "photo", [{"data": "YQ=="}], "att-1", "Patient.photo[0]"),
    (FORM, "item", [{"linkId": "a", "type": "group"}], "que-1", "Questionnaire.item[0]"),
    (FORM, "item", [{"linkId": "a", "type": "group",
                     "item": [{"linkId": "b", "type": "display", "required": True}]}], "que-6",
     "Questionnaire.item[0].item[0]"),
    (FORM, "item", [{"linkId": "a", "type": "string", "enableWhen": [
        {"question": "b", "operator": "exists", "answerString": "x"}]}], "que-7",
     "Questionnaire.item[0].enableWhen[0]"),
    ({"resourceType": "QuestionnaireResponse", "status": "completed"}, "item",
     [{"linkId": "a", "answer": [{"valueString": "x"}], "item": [{"linkId": "b"}]}], "qrs-1",
     "QuestionnaireResponse.item[0]"),
    ({"resourceType": "CarePlan", "status": "active", "intent": "plan",
      "subject": {"reference": "Patient/p"}}, "activity",
     [{"reference": {"reference": "Task/t"}, "detail": {"status": "scheduled"}}], "cpl-3",
     "CarePlan.activity[0]"),
    ({"resourceType": "Parameters"}, "parameter", [{"name": "a"}], "inv-1",
     "Parameters.parameter[0]"),
    ({"resourceType": "Organization", "name": "x", "active": True}, "name", ..., "org-1",
     "Organization"),
]  # fmt: skip


@pytest.mark.parametrize(("good", "at", "value", "key", "path"), CASES)
def test_a_broken_invariant_is_told_at_its_place(
    good: Any, at: str, value: Any, key: str, path: str
) -> None:
    assert (key, path) not in broken(good)
    assert (key, path) in broken(changed(good, at, value))


def test_the_good_one_breaks_none() -> None:
    assert broken(OBSERVATION) == []


def all_expressions() -> list[tuple[str, str]]:
    return [
        (name, key)
        for name in sorted(known_types())
        for key in type_facts(name).constraints
        if key not in NATIVE and key not in NATIVE_WHOLES
    ]


@pytest.mark.parametrize(("name", "key"), all_expressions())
def test_every_expression_of_the_standard_can_be_evaluated(name: str, key: str) -> None:
    facts = type_facts(name)
    node = Node(name, facts.elements[0], facts, name, name, {"id": "a"}, Within({}, {}, {}))
    assert holds(key, facts.constraints[key].expression, node) in (True, False)


def test_what_cannot_be_evaluated_is_a_value_error() -> None:
    node = walk(OBSERVATION).nodes[0]
    with pytest.raises(ValueError, match="own-1"):
        holds("own-1", "status.foo(", node)
    with pytest.raises(ValueError, match="bdl-7"):
        holds("bdl-7", "", walk({**BUNDLE, "entry": 3}).nodes[0])


def test_what_is_defined_elsewhere_keeps_to_the_invariants_from_there() -> None:
    inner = {"linkId": "b", "type": "display", "required": True}
    resource = {**FORM, "item": [{"linkId": "a", "type": "group", "item": [inner]}]}
    assert broken(resource) == [("que-6", "Questionnaire.item[0].item[0]")]


def test_an_absent_name_is_no_bad_name() -> None:
    named = {"resourceType": "ValueSet", "status": "draft"}
    assert broken(named) == []
    assert broken({**named, "name": "Good"}) == []
    assert broken({**named, "name": "b ad"}) == [("vsd-0", "ValueSet")]


def test_those_of_the_element_and_those_of_its_type_are_asked() -> None:
    by_path: dict[str, Node] = {each.path: each for each in walk(OBSERVATION).nodes}
    value = {key for key, _ in constraints_of(by_path["Observation.value"])}
    assert value == {"ele-1", "qty-3"}
    assert effort(by_path["Observation.value"], 10) == 0
    assert effort(by_path["Observation"], 10) == 1


def test_long_lists_and_large_resources_cost_more() -> None:
    system = {"resourceType": "Bundle", "type": "collection", "entry": [{}] * 2000}
    node = walk(system).nodes[0]
    assert effort(node, 2000) == 8 * (1 + 100 + 16)
    many = {"resourceType": "Patient", "contact": [{"telecom": [{}] * 200}]}
    assert effort(walk(many).nodes[1], 400) == 1 + 10


def test_a_severity_of_the_standard_is_kept() -> None:
    (found,) = (each for each in invariant_findings(walk(GOAL).nodes[0]) if each.key == "dom-6")
    assert (found.severity, found.issue_type) == ("warning", "invariant")


def test_every_invariant_has_its_words_and_every_word_its_invariant() -> None:
    asked = [(name, key) for name in known_types() for key in type_facts(name).constraints]
    keys = {key for _, key in asked}
    assert {key.rpartition(".")[2] for key in WORDS} == keys
    assert all(words_of(name, key).endswith(".") for name, key in asked)
    assert words_of("Task", "inv-1") != words_of("Parameters", "inv-1")
    assert set(NATIVE) | set(NATIVE_WHOLES) <= keys
