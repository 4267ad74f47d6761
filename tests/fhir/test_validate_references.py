"""Does a reference have to be written as one, and to lead to an allowed type?"""

from typing import Any

import pytest

from service.fhir.validate_known import NOTHING
from service.fhir.validate_references import allowed_types
from tests.fhir.broken import OBSERVATION, changed, faults

SUBJECT = "Observation.subject"
UUID = "urn:uuid:c757873d-ec9a-4326-a141-556f43239520"


@pytest.mark.parametrize(
    "reference",
    [
        {"reference": "Patient/p/_history/1"},
        {"reference": "https://a.example/fhir/Patient/p"},
        {"reference": "https://a.example/something"},
        {"reference": UUID},
        {"reference": "urn:oid:1.2.3"},
        {"type": "Patient", "identifier": {"system": "s", "value": "v"}},
        {"type": "http://a.example/own", "display": "x"},
        {"display": "x"},
    ],
)
def test_a_good_reference_is_taken(reference: Any) -> None:
    assert faults(changed(OBSERVATION, "subject", reference)) == []


@pytest.mark.parametrize(
    ("reference", "told"),
    [
        ({"reference": "mailto:a@b.example"}, ("reference_form", f"{SUBJECT}.reference")),
        ({"reference": "javascript:alert(1)"}, ("reference_form", f"{SUBJECT}.reference")),
        ({"reference": "Patient?identifier=s|v"}, ("reference_form", f"{SUBJECT}.reference")),
        ({"type": "Patient"}, ("reference_form", SUBJECT)),
        ({"type": "Human", "display": "x"}, ("reference_type", f"{SUBJECT}.type")),
        ({"reference": "p"}, ("reference_form", f"{SUBJECT}.reference")),
        ({"reference": "Patient/p?x=1"}, ("reference_form", f"{SUBJECT}.reference")),
        ({"reference": "urn:uuid:1"}, ("reference_form", f"{SUBJECT}.reference")),
        ({"reference": "Person2/p"}, ("reference_form", f"{SUBJECT}.reference")),
        ({"reference": "Human/p"}, ("reference_type", f"{SUBJECT}.reference")),
        ({"reference": "Practitioner/p"}, ("reference_type", SUBJECT)),
        ({"reference": "https://a.example/Practitioner/p"}, ("reference_type", SUBJECT)),
        ({"type": "Practitioner", "display": "x"}, ("reference_type", SUBJECT)),
        ({"reference": "Patient/p", "type": "Group"}, ("reference_type", f"{SUBJECT}.type")),
        ({"reference": "#none"}, ("invariant", SUBJECT)),
    ],
)
def test_a_bad_reference_is_told_at_its_place(reference: Any, told: tuple[str, str]) -> None:
    assert faults(changed(OBSERVATION, "subject", reference)) == [told]


def test_what_is_contained_counts_with_its_type() -> None:
    inside = {"resourceType": "Practitioner", "id": "d"}
    resource = {**OBSERVATION, "contained": [inside], "subject": {"reference": "#d"}}
    assert faults(resource) == [("reference_type", SUBJECT)]
    assert faults({**resource, "contained": [{**inside, "resourceType": "Patient"}]}) == []


def test_any_target_lets_every_type_pass() -> None:
    prefix = "http://hl7.org/fhir/StructureDefinition/"
    assert allowed_types((f"{prefix}Patient", f"{prefix}Resource"), NOTHING) == frozenset()
    assert allowed_types(("http://a.example/unknown",), NOTHING) == frozenset()
    assert allowed_types((f"{prefix}Patient", f"{prefix}Group"), NOTHING) == {"Patient", "Group"}


def test_an_extension_is_named_by_a_whole_address_unless_it_is_inside_another() -> None:
    part = {"url": "part", "valueString": "x"}
    whole = {"url": "http://a.example/whole", "extension": [part]}
    assert faults({**OBSERVATION, "extension": [whole]}) == []
    assert faults({**OBSERVATION, "extension": [whole, part]}) == [
        ("value_form", "Observation.extension[1].url")
    ]
    inside = {"url": "http://a.example/v", "valueReference": {"extension": [part]}}
    assert faults({**OBSERVATION, "extension": [inside]}) == [
        ("value_form", "Observation.extension[0].value.extension[0].url")
    ]
