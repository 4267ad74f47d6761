"""Does every fault reach a FHIR client with its place, its kind and its words?"""

import json

import pytest

from service.domain.problem import (
    Conflict,
    Fault,
    KeyReused,
    NotAllowed,
    NotFound,
    Problem,
    Refused,
    StaleVersion,
    Unavailable,
    Unreadable,
    VersionMissing,
)
from service.fhir.encode import bytes_of
from service.fhir.outcome import expression_of, outcome_for_status, outcome_of
from tests.fhir.own_checks import resource_faults
from tests.fhir.validators import definitions, form_faults, official_faults, parse_faults, read

FAULTS = (
    Fault("/stages/rise/outcome", "shape.word", "Must be one of: achieved."),
    Fault("/signs/0/stage", "shape.missing", "This field must be sent."),
    Fault("/orders", "sense.stop_rule", "A failed rise ends the <standing> part."),
    Fault("", "json.malformed", "Not JSON at byte 3."),
    Fault("/we ird~1`name", "shape.unknown_field", "No such field.\x00"),
    Fault("/patient/mass_kg", "shape.range", "Must be from 20 to 500."),
    Fault("/x", "other", "Something else."),
)
PROBLEMS: list[tuple[Problem, str]] = [
    (Unreadable("d"), "structure"),
    (Refused("d"), "invalid"),
    (NotFound("d"), "not-found"),
    (Conflict("d"), "duplicate"),
    (KeyReused("d"), "conflict"),
    (StaleVersion("d"), "conflict"),
    (VersionMissing("d"), "required"),
    (NotAllowed("d"), "login"),
    (NotAllowed("d", known=True), "forbidden"),
    (Unavailable("d"), "transient"),
    (Problem("d"), "processing"),
]


@pytest.mark.parametrize(("problem", "code"), PROBLEMS)
def test_each_problem_has_its_kind(problem: Problem, code: str) -> None:
    (issue,) = outcome_of(problem).issue
    assert (issue.code, issue.severity, issue.details.text) == (code, "error", "d")


def test_no_problem_is_without_a_kind() -> None:
    """The web's own refusals of a request's form are told by their HTTP status instead."""
    known = {kind for kind in Problem.__subclasses__() if kind.__module__ == Problem.__module__}
    assert {type(problem) for problem, _ in PROBLEMS} - {Problem} == known


def test_every_fault_is_an_issue_with_its_place_kind_rule_and_words() -> None:
    issues = outcome_of(Refused("The body cannot be taken as it is.", FAULTS)).issue
    assert [one.code for one in issues] == [
        "code-invalid", "required", "business-rule", "structure", "structure", "value", "invalid",
    ]  # fmt: skip
    assert [one.expression for one in issues[:4]] == [
        ("stages.rise.outcome",), ("signs[0].stage",), ("orders",), (),
    ]  # fmt: skip
    assert [one.details.coding[0].code for one in issues] == [fault.rule for fault in FAULTS]


@pytest.mark.parametrize(
    ("rule", "code"),
    [
        ("bundle.stale", "conflict"),
        ("bundle.conflict", "conflict"),
        ("bundle.key_reused", "conflict"),
        ("bundle.not_found", "not-found"),
        ("bundle.unresolved", "not-found"),
        ("bundle.version_missing", "required"),
        ("bundle.full_url", "structure"),
    ],
)
def test_a_fault_in_an_entry_is_of_the_kind_that_it_is_alone(rule: str, code: str) -> None:
    (issue,) = outcome_of(Refused("No.", (Fault("/Bundle/entry/0", rule, "No."),))).issue
    assert issue.code == code


@pytest.mark.parametrize(
    ("pointer", "expression"),
    [
        ("", ""),
        ("/a", "a"),
        ("/a/0/b", "a[0].b"),
        ("/0", "`0`"),
        ("/a~1b/c~0d", "`a/b`.`c~d`"),
        ("/a`b", "`a\\`b`"),
    ],
)
def test_a_json_pointer_becomes_a_path(pointer: str, expression: str) -> None:
    assert expression_of(pointer) == expression


@pytest.mark.parametrize(
    ("status", "code"),
    [
        (400, "structure"), (401, "login"), (403, "forbidden"), (404, "not-found"),
        (405, "not-supported"), (406, "not-supported"), (409, "conflict"), (412, "conflict"),
        (413, "too-long"), (415, "not-supported"), (422, "invalid"), (428, "required"),
        (429, "throttled"), (500, "exception"), (503, "transient"), (418, "processing"),
        (599, "exception"),
    ],
)  # fmt: skip
def test_each_status_has_its_kind(status: int, code: str) -> None:
    assert outcome_for_status(status, "Said.").issue[0].code == code


def test_every_kind_is_one_that_the_standard_knows() -> None:
    made = [outcome_of(problem) for problem, _ in PROBLEMS]
    made += [outcome_for_status(status, "Said.") for status in (404, 405, 406, 413, 429, 500, 503)]
    made.append(outcome_for_status(422, "Not taken.", FAULTS))
    for outcome in made:
        raw = bytes_of(outcome)
        assert official_faults(json.loads(raw)) == []
        assert form_faults(raw) == []
        assert parse_faults(raw) == []
        assert resource_faults({**read(raw), "id": "x"}) == []
    assert definitions().is_file()


def test_the_narrative_says_every_fault_and_escapes_it() -> None:
    text = outcome_of(Refused("Not taken.", FAULTS)).text
    assert text is not None
    assert "<b>Not taken.</b>" in text.div
    assert "<li>signs[0].stage This field must be sent.</li>" in text.div
    assert "&lt;standing&gt;" in text.div
