"""Is a response told what would be said if it were sent to be taken, at the same place?"""

from typing import Any

import pytest

from service.fhir.validate_finding import Severity
from service.fhir.validate_ours import known_at
from service.fhir.validate_response import questionnaire_of, response_findings
from tests.fhir.answers import SITE
from tests.fhir.broken import faults
from tests.fhir.responses import FORM, bare, full, item_of, plain

KNOWN = known_at(SITE)


def said(raw: Any) -> list[tuple[str, str]]:
    return [(each.severity.value, each.path) for each in response_findings(SITE, raw, "R")]


def test_it_is_our_questionnaire_that_is_answered() -> None:
    assert questionnaire_of(SITE) == FORM


@pytest.mark.parametrize("raw", [full(), bare(), plain()], ids=["full", "bare", "plain"])
def test_a_response_that_would_be_taken_has_no_fault(raw: Any) -> None:
    assert said(raw) == []


def test_another_unit_and_an_unknown_question_are_told_at_their_place() -> None:
    raw = plain()
    item_of(raw, "patient.mass_kg")["answer"][0]["valueQuantity"]["code"] = "g"
    raw["item"].append({"linkId": "none"})
    last = len(raw["item"]) - 1
    assert [path for _, path in said(raw)] == [
        "R.item[0].item[3].answer[0].value.code", f"R.item[{last}].linkId",
    ]  # fmt: skip


def test_what_makes_no_sense_is_told() -> None:
    raw = plain()
    answer = item_of(raw, "patient.birth_date")["answer"][0]
    answer["valueDate"] = "2020-01-01"
    assert ("error", "R.item[0].item[1].answer[0]") in said(raw)


def test_who_the_person_is_may_be_known_here_already() -> None:
    raw = plain()
    raw["item"] = [item for item in raw["item"] if item["linkId"] != "patient"]
    assert said(raw) == [("warning", "R")]


def test_one_that_is_still_filled_in_is_warned_of() -> None:
    assert said({**plain(), "status": "in-progress"}) == [("warning", "R.status")]


def test_one_that_is_taken_back_needs_no_answers() -> None:
    withdrawn = {**full(), "status": "entered-in-error"}
    del withdrawn["item"]
    assert said(withdrawn) == []


def test_only_our_own_questionnaire_is_looked_into() -> None:
    raw = {**full(), "item": [{"linkId": "none"}]}
    assert ("response", "QuestionnaireResponse.item[0].linkId") in faults(raw, KNOWN)
    other = {**raw, "questionnaire": "http://a.example/Questionnaire/q"}
    rules = {found.rule for found in response_findings(SITE, other, "R")}
    assert rules and "response" not in {rule for rule, _ in faults(other, KNOWN)}


def test_each_severity_is_one_that_says_whether_it_would_be_taken() -> None:
    levels = {found.severity for found in response_findings(SITE, {"a": 1}, "R")}
    assert levels == {Severity.ERROR}
