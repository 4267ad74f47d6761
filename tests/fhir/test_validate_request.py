"""Is the resource found in what is sent to ``$validate``, with its mode and profiles?"""

from typing import Any

import pytest

from service.fhir.validate_finding import Rule
from service.fhir.validate_request import Asked, asked_of, mode_findings
from tests.fhir.broken import OBSERVATION


def parameters(*given: Any) -> dict[str, Any]:
    return {"resourceType": "Parameters", "parameter": list(given)}


RESOURCE = {"name": "resource", "resource": OBSERVATION}


def test_a_resource_by_itself_is_what_is_looked_at() -> None:
    assert asked_of(OBSERVATION) == Asked(OBSERVATION)
    assert asked_of(3) == Asked(3)


def test_parameters_name_resource_mode_and_profiles() -> None:
    sent = parameters(
        RESOURCE,
        {"name": "mode", "valueCode": "create"},
        {"name": "profile", "valueUri": "a"},
        {"name": "profile", "valueCanonical": "b"},
        {"name": "profile", "valueBoolean": True},
    )
    assert asked_of(sent) == Asked(OBSERVATION, "create", ("a", "b"))


def test_parameters_without_a_resource_hold_none_unless_they_are_it() -> None:
    sent = parameters({"name": "profile", "valueUri": "a"})
    assert asked_of(sent, "Observation") == Asked(None, "", ("a",))
    assert asked_of(sent, "Parameters") == Asked(sent)
    assert asked_of({"resourceType": "Parameters", "parameter": 3}) == Asked(None)


def test_delete_and_unknown_modes_are_told() -> None:
    assert [each.rule for each in mode_findings(Asked(OBSERVATION, "delete"))] == [Rule.MODE]
    assert [each.rule for each in mode_findings(Asked(OBSERVATION, "other"))] == [Rule.MODE]
    assert mode_findings(Asked(OBSERVATION, "profile")) == ()


@pytest.mark.parametrize(("address", "faults"), [("a", 0), ("b", 1), ("", 0)])
def test_the_id_is_the_one_that_the_address_names(address: str, faults: int) -> None:
    told = mode_findings(Asked(OBSERVATION, "update"), address)
    assert [each.path for each in told] == ["Observation.id"] * faults
