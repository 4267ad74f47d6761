"""Does the CapabilityStatement tell what is registered, as the standard has it?"""

import json
from datetime import UTC, datetime
from typing import Any

from service.fhir.capability import Registered, capability_of
from service.fhir.encode import bytes_of
from service.fhir.search_parameters import PARAMETERS
from tests.fhir.answers import BASE, SITE
from tests.fhir.validators import form_faults, official_faults

READ = ("read", "vread", "history-instance", "search-type")
NOW = datetime(2026, 3, 4, 12, tzinfo=UTC)


def told(*registered: Registered) -> dict[str, Any]:
    made = capability_of(
        SITE, registered, ("transaction", "batch"), ("screen",), {"cors": False}, NOW
    )
    read: dict[str, Any] = json.loads(bytes_of(made))
    return read


MOST = "profile.element.cardinality.max"
"""The validator adds up what stands in several repetitions of rest.resource."""


def test_it_is_what_the_standard_has() -> None:
    listed = [Registered(kind, READ) for kind in PARAMETERS]
    statement = told(*listed, Registered("Questionnaire", ("read", "search-type")))
    assert [one for one in official_faults(statement) if MOST not in one] == []
    assert form_faults(json.dumps(statement).encode()) == []
    lean = told(Registered("Patient", ("read",)))
    del lean["rest"][0]["interaction"][1:]
    assert official_faults(lean) == []
    assert statement["fhirVersion"] == "4.0.1"
    assert statement["implementation"]["url"] == BASE
    assert "LOINC" in statement["copyright"]


def test_a_type_tells_its_interactions_and_search_parameters() -> None:
    (one,) = told(Registered("Observation", READ))["rest"][0]["resource"]
    assert [each["code"] for each in one["interaction"]] == list(READ)
    assert [each["name"] for each in one["searchParam"]] == list(PARAMETERS["Observation"])
    assert one["searchInclude"] == ["Observation:patient", "Observation:subject"]
    assert one["searchRevInclude"] == ["Provenance:target"]
    assert (one["versioning"], one["readHistory"]) == ("versioned", True)


def test_a_parameter_names_the_standards_definition_only_where_it_is_that_one() -> None:
    (one,) = told(Registered("Provenance", READ))["rest"][0]["resource"]
    named = {each["name"]: each.get("definition") for each in one["searchParam"]}
    assert named["target"] == "http://hl7.org/fhir/SearchParameter/Provenance-target"
    assert named["patient"] == f"{SITE.canonical}/SearchParameter/provenance-patient"


def test_a_type_that_cannot_be_searched_has_no_search_parameters() -> None:
    (one,) = told(Registered("Observation", ("read",)))["rest"][0]["resource"]
    assert "searchParam" not in one
    assert one["versioning"] == "no-version"
    assert one["updateCreate"] is False


def test_operations_are_told_with_their_definition() -> None:
    one = Registered("QuestionnaireResponse", ("create",), ("validate",), conditional_create=True)
    rest = told(one)["rest"][0]
    assert rest["operation"][0]["definition"].endswith("/OperationDefinition/screen")
    validate = rest["resource"][0]["operation"][0]["definition"]
    assert validate == "http://hl7.org/fhir/OperationDefinition/Resource-validate"
    assert rest["resource"][0]["conditionalCreate"] is True
