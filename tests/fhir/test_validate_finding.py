"""Does a finding say where and what, and nothing that was sent?"""

import pytest

from service.fhir.base_facts import value_sets
from service.fhir.validate_finding import (
    ISSUE_TYPE,
    VALIDATE_FAULTS,
    Finding,
    Rule,
    Severity,
    below,
    is_name,
    is_valid,
    summary,
)


def test_every_rule_has_its_issue_type_and_its_words() -> None:
    (types,) = value_sets()["http://hl7.org/fhir/ValueSet/issue-type|4.0.1"].values()
    assert set(ISSUE_TYPE) == set(VALIDATE_FAULTS) == set(Rule)
    assert set(ISSUE_TYPE.values()) <= types
    assert Finding(Rule.MISSING, "a", "b").issue_type == "required"


@pytest.mark.parametrize("name", ["status", "valueX", "_status"])
def test_a_name_is_told(name: str) -> None:
    assert is_name(name)
    assert below("Patient", name) == f"Patient.{name}"


@pytest.mark.parametrize("name", ["her words", "a.b", "", "ä", "1a", "a" * 65])
def test_what_could_be_words_of_a_person_is_not(name: str) -> None:
    assert not is_name(name)
    assert below("Patient", name) == "Patient"


def test_only_an_error_makes_a_resource_invalid() -> None:
    warning = Finding(Rule.UNCHECKED, "", "", Severity.WARNING)
    assert is_valid(()) and is_valid((warning,))
    assert not is_valid((warning, Finding(Rule.MISSING, "", "")))


def test_the_summary_counts_what_has_to_be_mended() -> None:
    found = [Finding(Rule.MISSING, "", "", severity) for severity in (*Severity, Severity.ERROR)]
    assert summary(found) == "2 errors, 1 warnings"
