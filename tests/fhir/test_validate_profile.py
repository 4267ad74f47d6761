"""Is everything that a profile can ask for held, and told at its place?"""

import time
from typing import Any

import pytest

from service.fhir.validate_finding import Rule
from service.fhir.validate_known import NOTHING
from service.fhir.validate_profile import profile_findings
from service.fhir.validate_tree import walk
from tests.fhir.broken import OBSERVATION, changed, faults, found
from tests.fhir.small_profile import EXTENSION, GOOD, KNOWN, URL

CASES = [
    ("extension", ..., ("missing", "Observation.extension")),
    ("extension", [{"url": "http://other", "valueCode": "low"}],
     ("profile", "Observation.extension[0]")),
    ("extension", [{"url": EXTENSION, "valueCode": "low"}] * 2,
     ("too_many", "Observation.extension")),
    ("extension.0.valueCode", "middle", ("code_not_in_set", "Observation.extension[0].value")),
    ("extension.0", {"url": EXTENSION, "valueString": "low"},
     ("profile", "Observation.extension[0].value")),
    ("category", [{"text": "other"}], ("missing", "Observation.category")),
    ("category.1", GOOD["category"][0], ("too_many", "Observation.category")),
    ("code.coding.0.code", "middle", ("code_not_in_set", "Observation.code")),
    ("code.text", ..., ("missing", "Observation.code.text")),
    ("subject.reference", "Group/g", ("reference_type", "Observation.subject")),
    ("subject", ..., ("missing", "Observation.subject")),
    ("valueQuantity", ..., ("missing", "Observation.value")),
    ("device", {"display": "x"}, ("too_many", "Observation.device")),
    ("note", [{"text": "a"}, {"text": "b"}], ("too_many", "Observation.note")),
    ("method", ..., ("invariant", "Observation")),
]  # fmt: skip


def test_the_good_one_keeps_to_it() -> None:
    assert faults(GOOD, KNOWN) == []


@pytest.mark.parametrize(("at", "value", "told"), CASES)
def test_what_is_not_kept_is_told_at_its_place(at: str, value: Any, told: tuple[str, str]) -> None:
    assert told in faults(changed(GOOD, at, value), KNOWN)


def test_a_type_that_the_profile_leaves_out_is_told() -> None:
    other = changed(changed(GOOD, "valueQuantity", ...), "valueString", "many")
    assert faults(other, KNOWN) == [("profile", "Observation.value")]


def test_a_profile_is_held_only_where_it_is_named() -> None:
    plain = changed(OBSERVATION, "id", "b")
    assert faults(plain, KNOWN) == []
    asked = faults(plain, KNOWN, URL)
    assert ("missing", "Observation.extension") in asked
    assert faults(GOOD, KNOWN, f"{URL}|1.0") == []


def test_the_words_name_the_profile() -> None:
    (told,) = found(changed(GOOD, "note", [{"text": "a"}, {"text": "b"}]), KNOWN)
    assert told.text == "At most 1 note may be given. The profile small asks so."
    assert told.key == URL


def test_an_invariant_of_a_profile_has_the_words_of_the_profile() -> None:
    (told,) = found(changed(GOOD, "method", ...), KNOWN)
    assert told.text == "small-1: A number needs its method."


def test_a_profile_that_is_not_kept_is_told() -> None:
    other = changed(OBSERVATION, "meta", {"profile": ["http://a.example/p"]})
    (told,) = found(other)
    assert (told.rule, told.path, told.severity) == (
        "validate.profile_unknown", "Observation.meta.profile[0]", "warning",
    )  # fmt: skip
    (asked,) = found(OBSERVATION, NOTHING, "http://a.example/p")
    assert (asked.severity, asked.issue_type) == ("error", "not-found")


def test_the_standard_itself_may_be_named_as_profile() -> None:
    standard = "http://hl7.org/fhir/StructureDefinition/Observation"
    assert faults(OBSERVATION, NOTHING, standard) == []


def test_a_profile_of_another_type_is_told() -> None:
    patient = {"resourceType": "Patient", "text": OBSERVATION["text"]}
    assert faults(patient, KNOWN, URL) == [("other_type", "Patient")]


def test_an_extension_of_ours_is_held_to_its_own_profile_anywhere() -> None:
    wrong = [{"url": EXTENSION, "valueCode": "middle"}]
    resource = changed(OBSERVATION, "code.extension", wrong)
    assert faults(resource, KNOWN) == [("code_not_in_set", "Observation.code.extension[0].value")]
    assert faults(resource) == []


def test_a_modifier_that_nobody_here_knows_is_warned_of() -> None:
    unknown = [{"url": "http://a.example/not", "valueBoolean": True}]
    (told,) = found(changed(OBSERVATION, "modifierExtension", unknown), KNOWN)
    assert (told.severity, told.path) == ("warning", "Observation.modifierExtension[0]")


def test_a_slice_met_many_times_is_gone_through_once() -> None:
    """Were each compared with each, it would take some twenty seconds."""
    level = {"url": EXTENSION, "valueCode": "low"}
    node = walk({**GOOD, "extension": [level] * 40_000}).nodes[0]
    started = time.process_time()
    told = list(profile_findings(node, KNOWN.profiles[URL], KNOWN))
    assert Rule.TOO_MANY in {each.rule for each in told}
    assert time.process_time() - started < 8
