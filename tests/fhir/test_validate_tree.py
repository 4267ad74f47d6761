"""Is every departure from the form of a type seen, with the path of where it is?"""

from typing import Any

import pytest

from service.fhir import validate_tree
from service.fhir.validate_finding import Rule
from service.fhir.validate_tree import resource_types, walk
from tests.fhir.broken import OBSERVATION, SAMPLES, changed, read


def said(resource: Any) -> list[tuple[Rule, str]]:
    return [(each.rule, each.path) for each in walk(resource).findings]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.parent.name)
def test_what_goes_out_has_its_form(path: Any) -> None:
    walked = walk(read(path))
    assert walked.findings == []
    assert len(walked.nodes) > 1000


CASES = [
    ("foo", 1, Rule.UNKNOWN_ELEMENT, "Observation.foo"),
    ("code.coding.0.foo", 1, Rule.UNKNOWN_ELEMENT, "Observation.code.coding[0].foo"),
    ("valueFoo", 1, Rule.UNKNOWN_ELEMENT, "Observation.valueFoo"),
    ("_subject", {"id": "x"}, Rule.UNKNOWN_ELEMENT, "Observation._subject"),
    ("what the patient said", 1, Rule.UNKNOWN_ELEMENT, "Observation"),
    ("status", ..., Rule.MISSING, "Observation.status"),
    ("code", ..., Rule.MISSING, "Observation.code"),
    ("text.div", ..., Rule.MISSING, "Observation.text.div"),
    ("component", [{}], Rule.MISSING, "Observation.component[0].code"),
    ("valueString", "x", Rule.ONE_CHOICE, "Observation.value"),
    ("status", ["final"], Rule.JSON_FORM, "Observation.status"),
    ("status", {}, Rule.JSON_FORM, "Observation.status"),
    ("category", {"text": "x"}, Rule.JSON_FORM, "Observation.category"),
    ("code", "x", Rule.JSON_FORM, "Observation.code"),
    ("code", [{"text": "x"}], Rule.JSON_FORM, "Observation.code"),
    ("_status", "x", Rule.JSON_FORM, "Observation.status"),
    ("_status", [{}], Rule.JSON_FORM, "Observation.status"),
    ("valueQuantity.value", "72.5", Rule.JSON_FORM, "Observation.value.value"),
    ("code", {}, Rule.EMPTY, "Observation.code"),
    ("category", [], Rule.EMPTY, "Observation.category"),
    ("status", None, Rule.EMPTY, "Observation.status"),
    ("status", "", Rule.EMPTY, "Observation.status"),
    ("category", [None], Rule.EMPTY, "Observation.category[0]"),
    ("id", "a_b", Rule.VALUE_FORM, "Observation.id"),
    ("effectiveDateTime", "2026-02-30", Rule.NOT_IN_CALENDAR, "Observation.effective"),
    ("referenceRange", [{"low": {"comparator": "<"}}], Rule.TOO_MANY,
     "Observation.referenceRange[0].low.comparator"),
    ("contained", ["x"], Rule.NOT_AN_OBJECT, "Observation.contained[0]"),
    ("contained", [{}], Rule.MISSING, "Observation.contained[0]"),
    ("contained", [{"resourceType": "Foo"}], Rule.UNKNOWN_TYPE, "Observation.contained[0]"),
    ("contained", [{"resourceType": []}], Rule.UNKNOWN_TYPE, "Observation.contained[0]"),
    ("contained", [{"resourceType": "DomainResource"}], Rule.UNKNOWN_TYPE,
     "Observation.contained[0]"),
    ("contained", [{"resourceType": "Account"}], Rule.UNCHECKED, "Observation.contained[0]"),
    ("contained", [{"resourceType": "Patient", "gender": 1}], Rule.JSON_FORM,
     "Observation.contained[0].gender"),
]  # fmt: skip


@pytest.mark.parametrize(("at", "value", "rule", "path"), CASES)
def test_each_fault_of_form_is_told_at_its_place(
    at: str, value: Any, rule: Rule, path: str
) -> None:
    assert (rule, path) in said(changed(OBSERVATION, at, value))


def test_the_good_one_has_no_fault() -> None:
    assert said(OBSERVATION) == []


def test_a_primitive_may_have_extensions_instead_of_a_value() -> None:
    absent = {"extension": [{"url": "http://example.org/absent", "valueCode": "unknown"}]}
    resource = changed(changed(OBSERVATION, "status", ...), "_status", absent)
    assert said(resource) == []
    given = {"resourceType": "Patient", "name": [{"given": ["A", None], "_given": [None, absent]}]}
    assert said(given) == []
    given["name"][0]["_given"] = [None, None]  # type: ignore[index]
    assert said(given) == [(Rule.EMPTY, "Patient.name[0].given[1]")]


def test_a_primitive_with_neither_value_nor_extension_is_empty() -> None:
    named = changed(OBSERVATION, "_status", {"id": "x"})
    assert said(named) == []
    assert said(changed(named, "status", ...)) == [(Rule.EMPTY, "Observation.status")]


def test_what_stands_beside_a_value_is_looked_at() -> None:
    resource = changed(OBSERVATION, "_status", {"extension": [{"url": "http://a", "foo": 1}]})
    assert said(resource) == [(Rule.UNKNOWN_ELEMENT, "Observation.status.extension[0].foo")]


def test_an_element_defined_elsewhere_is_looked_at_all_the_same() -> None:
    item: dict[str, Any] = {"linkId": "a", "item": [{"linkId": "b", "item": [{"linkId": 3}]}]}
    resource = {"resourceType": "QuestionnaireResponse", "status": "completed", "item": [item]}
    assert said(resource) == [
        (Rule.JSON_FORM, "QuestionnaireResponse.item[0].item[0].item[0].linkId")
    ]


def test_an_entry_stands_for_itself_and_what_is_contained_does_not() -> None:
    inside = {"resourceType": "Patient", "id": "p"}
    outer = {**OBSERVATION, "contained": [inside]}
    bundle = {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": outer}]}
    by_path = {each.path: each for each in walk(bundle).nodes}
    assert by_path["Bundle.entry[0].resource"].within.root is outer
    contained = by_path["Bundle.entry[0].resource.contained[0]"].within
    assert (contained.root, contained.resource) == (outer, inside)
    assert contained.contained == {"p": "Patient"}


@pytest.mark.parametrize("value", [None, 3, "x", []])
def test_what_is_no_object_is_no_resource(value: Any) -> None:
    assert said(value) == [(Rule.NOT_AN_OBJECT, "")]


@pytest.mark.parametrize("kind", [[], {}, 3, None, "Human"])
def test_a_type_that_is_none_is_told(kind: Any) -> None:
    ((rule, path),) = said({"resourceType": kind})
    assert (rule, path) == (Rule.MISSING if kind is None else Rule.UNKNOWN_TYPE, "")


def test_every_type_of_r4_is_known_by_name() -> None:
    assert {"Patient", "Account", "VisionPrescription"} < resource_types()
    assert len(resource_types()) == 148


def test_the_walk_ends_where_there_is_too_much(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(validate_tree, "MOST_NODES", 5)
    monkeypatch.setattr(validate_tree, "MOST_FINDINGS", 2)
    walked = walk({**OBSERVATION, "a": 1, "b": 1, "c": 1})
    assert walked.full
    assert (len(walked.nodes), len(walked.findings)) == (5, 2)
