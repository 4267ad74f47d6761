"""Do the words for a promise say it as FHIR does?"""

import copy

import pytest

from service.fhir.definitions.slots import (
    always,
    bound,
    invariant,
    never,
    ours,
    path_of,
    person,
    slot,
)
from service.fhir.validate_ours import known_at
from tests.fhir.answers import SITE
from tests.fhir.broken import faults
from tests.fhir.definitions.definition_alarms import EXAMPLES


def test_a_path_names_no_slices() -> None:
    assert path_of("Extension.extension:code.value[x]") == "Extension.extension.value[x]"


def test_what_is_always_sent_is_needed_and_must_be_supported() -> None:
    one = always("Flag.period", "Since when.", "Period")
    assert (one.min, one.max, one.must_support) == (1, None, True)
    assert [kind.code for kind in one.type] == ["Period"]


def test_what_is_never_sent_is_not_allowed_and_says_why() -> None:
    one = never("CarePlan.activity.reference", "A request would look like an order.")
    assert (one.min, one.max) == (None, "0")
    assert one.definition == "A request would look like an order."


def test_what_is_not_said_is_left_to_the_standard() -> None:
    one = slot("Flag.author", "Who.")
    assert (one.min, one.max, one.type, one.binding, one.must_support) == (
        None, None, (), None, None,
    )  # fmt: skip


def test_bindings_and_invariants_name_what_is_ours() -> None:
    assert bound(SITE, "method").value_set == f"{SITE.canonical}/ValueSet/method"
    assert bound(SITE, "goal", "preferred").strength == "preferred"
    rule = invariant(SITE, "stn-a-1", "A.", "true", "flag")
    assert (rule.severity, rule.source) == ("error", SITE.profile("flag"))


def test_a_person_is_one_and_has_a_business_identifier() -> None:
    whose, known_by = person("Flag.subject")
    assert [kind.target_profile for kind in whose.type] == [
        ("http://hl7.org/fhir/StructureDefinition/Patient",)
    ]
    assert (known_by.id, known_by.min) == ("Flag.subject.identifier", 1)


@pytest.mark.parametrize("name", ["care-plan", "finding", "flag", "goal", "panel", "task"])
def test_what_is_told_of_a_group_keeps_no_profile_of_ours(name: str) -> None:
    told = copy.deepcopy(EXAMPLES[name])
    whose = "for" if name == "task" else "subject"
    told[whose] = {**told[whose], "reference": "Group/a", "type": "Group"}
    path = f"{told['resourceType']}.{whose}"
    assert ("reference_type", path) in faults(told, known_at(SITE))


def test_an_identifier_of_others_may_stand_beside_ours_and_not_in_its_place() -> None:
    all_of, own, system, value = ours(SITE, "Flag", "flag", "Ours.")
    assert all_of.slicing is not None and all_of.slicing.rules == "open"
    assert (own.slice_name, own.min, own.max) == ("own", 1, "1")
    assert (system.fixed_uri, value.min) == (SITE.identifier_system("flag"), 1)
    other = {"system": "urn:oid:2.999", "value": "1"}
    told = EXAMPLES["flag"]
    both = {**told, "identifier": [other, *told["identifier"]]}
    assert faults(both, known_at(SITE)) == []
    assert ("missing", "Flag.identifier") in faults({**told, "identifier": [other]}, known_at(SITE))
