"""How are the findings about a resource told as an OperationOutcome?"""

from collections.abc import Sequence

from service.fhir.narrative import bullets, narrative
from service.fhir.resources import Issue, OperationOutcome
from service.fhir.site import CANONICAL, code_system
from service.fhir.structs import CodeableConcept, Coding
from service.fhir.text import tidy
from service.fhir.validate_finding import Finding, summary


def outcome_of_findings(
    findings: Sequence[Finding], canonical: str = CANONICAL
) -> OperationOutcome:
    """An issue for each finding, in their order."""
    told = [f"{each.severity} {each.path} {each.text}".replace("  ", " ") for each in findings]
    return OperationOutcome(
        text=narrative(bullets(summary(findings), told)),
        issue=tuple([_issue(each, canonical) for each in findings]),
    )


def _issue(finding: Finding, canonical: str) -> Issue:
    rule = Coding(code_system(canonical, "fault"), finding.rule.value)
    return Issue(
        severity=finding.severity.value,
        code=finding.issue_type,
        details=CodeableConcept((rule,), tidy(finding.text)),
        expression=(finding.path,) if finding.path else (),
    )
