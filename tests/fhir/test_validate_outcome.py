"""Is every finding told as an issue, and is the outcome itself valid?"""

import pytest

from service.fhir.encode import bytes_of
from service.fhir.validate import read_tree, validate
from service.fhir.validate_finding import Finding, Rule, Severity, is_valid
from service.fhir.validate_ours import known_here
from service.fhir.validate_outcome import outcome_of_findings
from tests.fhir.broken import OBSERVATION
from tests.fhir.validators import form_faults, official_faults, parse_faults, without_decimals

FINDINGS = tuple(
    Finding(rule, "Patient.name[0]" if number % 2 else "", "Say <it>.", severity)
    for number, rule in enumerate(Rule)
    for severity in Severity
)


def test_a_finding_becomes_an_issue_with_path_words_and_code() -> None:
    finding = Finding(Rule.MISSING, "Patient.name", "name is required. Give it.")
    (issue,) = outcome_of_findings([finding], "https://a.example/fhir").issue
    assert (issue.severity, issue.code, issue.expression) == (
        "error",
        "required",
        ("Patient.name",),
    )
    assert issue.details.text == "name is required. Give it."
    (coding,) = issue.details.coding
    assert (coding.system, coding.code) == (
        "https://a.example/fhir/CodeSystem/fault", "validate.missing",
    )  # fmt: skip


def test_a_finding_about_the_whole_has_no_expression() -> None:
    assert outcome_of_findings([Finding(Rule.MORE, "", "x")]).issue[0].expression == ()


@pytest.mark.parametrize("findings", [FINDINGS, validate(OBSERVATION)], ids=["all", "none"])
def test_the_outcome_of_every_finding_is_valid(findings: tuple[Finding, ...]) -> None:
    raw = bytes_of(outcome_of_findings(findings))
    assert is_valid(validate(read_tree(raw)))
    assert form_faults(raw) == parse_faults(raw) == []


def test_the_outcome_is_valid_for_the_official_definitions() -> None:
    raw = bytes_of(outcome_of_findings(FINDINGS[:4]))
    assert official_faults(without_decimals(raw)) == []


def test_every_fault_that_is_told_is_published() -> None:
    raw = bytes_of(outcome_of_findings(FINDINGS))
    assert is_valid(validate(read_tree(raw), known_here()))
