"""Does a whole resource get every finding, bounded, and what was not looked at?"""

import time
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.problem import Unreadable
from service.fhir import validate as module
from service.fhir.validate import Wanted, read_tree, validate
from service.fhir.validate_finding import Rule, Severity, is_valid
from service.fhir.validate_known import NOTHING
from tests.fhir.broken import OBSERVATION, SAMPLES, TEXT, changed, faults, read
from tests.fhir.small_profile import GOOD, URL
from tests.fhir.small_profile import KNOWN as SMALL


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.parent.name)
def test_everything_that_goes_out_is_valid(path: Any) -> None:
    told = validate(read_tree(path.read_bytes()))
    assert [each for each in told if each.severity == Severity.ERROR] == []
    assert {each.rule for each in told if each.severity == Severity.WARNING} <= {
        Rule.PROFILE_UNKNOWN
    }


def test_what_is_valid_says_so_and_what_was_not_looked_at() -> None:
    assert [each.rule for each in validate(OBSERVATION)] == [Rule.NO_FAULT, Rule.UNCHECKED]
    assert [each.rule for each in validate({**OBSERVATION, "status": "x"})] == [
        Rule.CODE_NOT_IN_SET, Rule.UNCHECKED,
    ]  # fmt: skip


def test_of_what_is_not_looked_at_nothing_is_said() -> None:
    told = validate({"resourceType": "Account", "foo": 1})
    assert [(each.rule, each.severity) for each in told] == [
        (Rule.UNCHECKED, Severity.WARNING), (Rule.UNCHECKED, Severity.INFORMATION),
    ]  # fmt: skip


def test_no_value_that_was_sent_is_ever_repeated() -> None:
    secret = "Ilse Unbekannt"
    bad: Any = OBSERVATION
    for path in ("status", "effectiveDateTime", "subject", "subject.reference", "valueQuantity",
                 "valueQuantity.code", "valueQuantity.value", "code.coding.0.system"):  # fmt: skip
        bad = changed(OBSERVATION, path, secret)
        assert secret not in "".join(each.text + each.path for each in validate(bad))
    assert "Ilse" not in str(validate({**OBSERVATION, secret: 1, "_Ilse x": 2}))


def test_decimals_keep_their_digits_and_nonsense_is_unreadable() -> None:
    assert str(read_tree(b'{"a":72.50}')["a"]) == "72.50"
    for body in (b"", b"{", b'{"a":1,"a":2}', b'{"a":NaN}', b"[" * 100 + b"]" * 100, b"\xff"):
        with pytest.raises(Unreadable):
            read_tree(body)


def test_a_resource_of_another_type_than_the_address_names_is_told() -> None:
    assert faults(OBSERVATION, kind="Patient") == [("other_type", "Observation")]
    assert faults(OBSERVATION, kind="Observation") == []
    assert faults({"resourceType": ["x"]}, kind="Patient")[0] == ("other_type", "")


def test_the_first_errors_are_told_where_there_are_too_many() -> None:
    patient = {"resourceType": "Patient", "contact": [{"gender": "x"}] * 300}
    told = validate(patient)
    errors = [each for each in told if each.severity == Severity.ERROR]
    assert len(errors) == module.MOST_TOLD
    assert [each.rule for each in told[module.MOST_TOLD :]] == [Rule.MORE, Rule.UNCHECKED]
    assert not is_valid(told)


def test_more_values_than_are_looked_at_are_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.fhir.validate_tree.MOST_NODES", 5)
    assert Rule.MORE in {each.rule for each in validate(OBSERVATION) if not is_valid((each,))}


def test_more_invariants_than_are_evaluated_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_EFFORT", 0)
    assert faults(changed(OBSERVATION, "dataAbsentReason", {"text": "x"})) == [("more", "")]


def test_an_invariant_that_cannot_be_evaluated_is_told_unless_the_form_says_why() -> None:
    bundle = {"resourceType": "Bundle", "type": "collection", "entry": 3}
    assert faults(bundle) == [("json_form", "Bundle.entry")]
    odd = {"resourceType": "Patient", "text": OBSERVATION["text"], "meta": {"profile": 3}}
    assert faults(odd) == [("json_form", "Patient.meta.profile")]


def test_what_profile_and_standard_both_ask_is_told_once() -> None:
    twice = {**OBSERVATION, "meta": {"profile": ["http://a.example/p"] * 2}}
    wanted = Wanted(profiles=("http://a.example/p",))
    told = [each.path for each in validate(twice, NOTHING, wanted) if each.path]
    assert told == ["Observation.meta.profile[0]", "Observation.meta.profile[1]", "Observation"]


@pytest.mark.parametrize("hostile", [
    {"resourceType": "CapabilityStatement", "rest": [{"resource": [{}] * 30_000}]},
    {"resourceType": "ImplementationGuide", "definition": {"resource": [{"groupingId": "a"}] * 9000,
                                                           "grouping": [{"id": "a"}] * 9000}},
    {"resourceType": "Observation", "code": {"coding": [{"code": "a"}] * 9000},
     "valueString": "x", "component": [{"code": {"coding": [{"code": "b"}]}}] * 9000},
    {"resourceType": "Patient", "contained": [{"resourceType": "Patient", "id": "a"}] * 9000,
     "link": [{"other": {"reference": "#b"}}] * 9000},
    {"resourceType": "StructureDefinition", "type": "Patient",
     "snapshot": {"element": [{"path": "Patient.a"}] * 20_000}},
], ids=lambda body: body["resourceType"])  # fmt: skip
def test_a_body_made_to_be_slow_is_not(hostile: Any) -> None:
    """Over lists like these the work of an engine for FHIRPath grows with their square: the
    longest here would take minutes."""
    started = time.process_time()
    assert not is_valid(validate(hostile))
    assert time.process_time() - started < 10


def test_others_get_their_turn_again_and_again() -> None:
    turns: list[int] = []
    validate(read(SAMPLES[0]), wanted=Wanted(pause=lambda: turns.append(1)))
    assert len(turns) > 200


def test_a_profile_named_many_times_is_held_once() -> None:
    many = {**GOOD, "meta": {"profile": [URL, f"{URL}|1"] * 5000}}
    assert [each.rule for each in validate(many, SMALL)] == [Rule.NO_FAULT, Rule.UNCHECKED]


def test_another_version_of_a_profile_than_is_kept_is_told_and_the_kept_one_held_to() -> None:
    kept = replace(SMALL.profiles[URL], version="2")
    known = replace(SMALL, profiles={**SMALL.profiles, URL: kept})
    other = {**GOOD, "meta": {"profile": [f"{URL}|1"]}}
    path = "Observation.meta.profile[0]"
    assert faults(other, known) == [("profile_unknown", path)]
    assert is_valid(validate(other, known))
    assert faults({**GOOD, "meta": {"profile": [f"{URL}|2"]}}, known) == []
    assert not is_valid(validate(GOOD, known, Wanted(profiles=(f"{URL}|1",))))
    assert ("missing", "Observation.category") in faults(changed(other, "category", ...), known)


def test_what_says_nothing_over_something_absent_is_broken_unless_its_form_says_why() -> None:
    answers = [{"valueString": "x"}, {"valueString": "y"}]
    item = {"linkId": "a", "type": "string", "initial": answers}
    form = {"resourceType": "Questionnaire", "status": "draft", "text": TEXT, "item": [item]}
    assert faults(form) == [("invariant", "Questionnaire.item[0]")]
    assert faults(changed(form, "item.0.repeats", True)) == []
    assert faults(changed(form, "item.0.foo", 1)) == [
        ("unknown_element", "Questionnaire.item[0].foo")
    ]
