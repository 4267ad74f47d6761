"""Do validators of others agree, and is each difference one that we can answer for?"""

import json
from typing import Any

import pytest

from service.fhir.validate_finding import ISSUE_TYPE, Rule
from tests.fhir.base_facts import package
from tests.fhir.broken import changed, faults, found
from tests.fhir.broken_table import MISSED_BY_FORM, MISSED_BY_OFFICIAL, TABLE
from tests.fhir.validators import form_faults, official_faults

# Rules whose faults show in the form of the JSON, without value sets, references, invariants.
FORM_RULES = {
    Rule.UNKNOWN_ELEMENT, Rule.MISSING, Rule.JSON_FORM, Rule.EMPTY, Rule.ONE_CHOICE,
    Rule.VALUE_FORM, Rule.NOT_IN_CALENDAR, Rule.UNKNOWN_TYPE,
}  # fmt: skip


def sent(resource: Any) -> Any:
    return json.loads(json.dumps(resource, default=float))


def ours(resource: Any) -> set[tuple[str, str]]:
    return set(faults(resource))


@pytest.mark.parametrize("name", TABLE)
def test_each_fault_is_told_at_its_place_and_only_since_it_was_made(name: str) -> None:
    good, at, value, rule, path = TABLE[name]
    assert ours(good) == set()
    assert (rule, path) in ours(changed(good, at, value))


@pytest.mark.parametrize("name", TABLE)
def test_the_official_definitions_agree(name: str) -> None:
    good, at, value, _, _ = TABLE[name]
    assert official_faults(sent(good)) == []
    told = official_faults(sent(changed(good, at, value)))
    assert (told == []) == (name in MISSED_BY_OFFICIAL)


@pytest.mark.parametrize("name", TABLE)
def test_the_second_validator_agrees_about_form(name: str) -> None:
    good, at, value, rule, _ = TABLE[name]
    assert form_faults(json.dumps(sent(good)).encode()) == []
    told = form_faults(json.dumps(sent(changed(good, at, value))).encode())
    assert (told != []) == (Rule(f"validate.{rule}") in FORM_RULES and name not in MISSED_BY_FORM)


def test_every_kind_of_fault_of_a_resource_is_in_the_table() -> None:
    told = {Rule(f"validate.{rule}") for _, _, _, rule, _ in TABLE.values()}
    elsewhere = {
        # tests/fhir/test_validate_tree.py, _references.py, _profile.py, _response.py, _ours.py
        Rule.NOT_AN_OBJECT, Rule.TOO_MANY, Rule.REFERENCE_FORM, Rule.REFERENCE_DANGLING,
        Rule.PROFILE, Rule.PROFILE_UNKNOWN, Rule.RESPONSE, Rule.UNKNOWN_CODE,
        # tests/fhir/test_validate_narrative.py
        Rule.OUTSIDE,
        # the question itself, and its bounds
        Rule.OTHER_TYPE, Rule.OTHER_ID, Rule.NO_RESOURCE, Rule.MODE, Rule.UNCHECKED, Rule.MORE,
        Rule.NO_FAULT,
    }  # fmt: skip
    assert told | elsewhere == set(ISSUE_TYPE)


# A fault of the official package itself: texts that hold a control character, or nothing.
FLAWED = "CodeSystem.concept"
EVERY = 60


@pytest.mark.parametrize("url", sorted(package())[::EVERY])
def test_a_definition_of_the_standard_is_valid(url: str) -> None:
    told = [each for each in found(package()[url]) if each.severity == "error"]
    assert [each for each in told if not each.path.startswith(FLAWED)] == []
