"""Do references inside a transaction lead to the entries they name?"""

from typing import Any

import pytest

from service.domain.value import Identifier
from service.fhir.read_bundle import Wanted, entries_of
from service.fhir.read_people import (
    dangling,
    identifier_asked,
    identifier_said,
    own_patient,
    people_in,
    target_of,
    urls_of,
)
from tests.fhir.answers import BASE
from tests.fhir.test_read_person import MARA

ROOT = "http://ehr.example/fhir"
URN = "urn:uuid:8a1c1c1e-2a3b-4c4d-9e8f-000000000001"


def wanted(*entries: Any) -> tuple[Wanted, ...]:
    _, found = entries_of({"resourceType": "Bundle", "type": "batch", "entry": list(entries)}, BASE)
    return found


def entries_() -> tuple[Wanted, ...]:
    request = {"method": "POST", "url": "Patient"}
    answered = {"resourceType": "QuestionnaireResponse", "status": "completed"}
    return wanted(
        *[
            {"fullUrl": url, "resource": MARA, "request": request}
            for url in (URN, f"{ROOT}/Patient/9")
        ],
        {
            "fullUrl": f"{ROOT}/QuestionnaireResponse/1",
            "resource": answered,
            "request": {"method": "POST", "url": "QuestionnaireResponse"},
        },
    )


def test_people_are_those_of_the_patient_entries() -> None:
    people, faults = people_in(entries_())
    assert (sorted(people), faults) == ([0, 1], [])
    assert people[1].place == "/Bundle/entry/1/resource"


def test_a_reference_leads_to_its_full_url_or_to_the_place_beside_it() -> None:
    first, _, response = entries_()
    urls = urls_of(entries_())
    assert target_of(URN, response, urls) == 0
    assert target_of(f"{ROOT}/Patient/9", response, urls) == 1
    assert target_of("Patient/9", response, urls) == 1
    assert target_of("Patient/8", response, urls) is None
    assert target_of("Patient/9", first, urls) is None


def test_a_urn_that_no_entry_has_is_told_at_its_reference() -> None:
    (one,) = wanted(
        {
            "resource": {
                "resourceType": "QuestionnaireResponse",
                "subject": {"reference": URN},
                "author": {"reference": "urn:uuid:2"},
                "encounter": {"reference": "Encounter/1"},
                "source": "nonsense",
            },
            "request": {"method": "POST", "url": "QuestionnaireResponse"},
        }
    )
    found = [fault.path for fault in dangling(one, {URN: 0})]
    assert found == ["/Bundle/entry/0/resource/author/reference"]


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("identifier=urn%3As%7C7", ("urn:s", "7")),
        ("?identifier=urn:s|a%20b", ("urn:s", "a b")),
        ("identifier=urn:s|a|b", ("urn:s", "a|b")),
        ("identifier=7", None),
        ("identifier=|7", None),
        ("identifier=urn:s|", None),
        ("identifier=a|b&identifier=c|d", None),
        ("name=a|b", None),
        ("nonsense", None),
        ("", None),
    ],
)
def test_a_query_names_one_identifier_with_its_system(
    query: str, found: tuple[str, str] | None
) -> None:
    expected = None if found is None else Identifier(system=found[0], value=found[1])
    assert identifier_asked(query) == expected


@pytest.mark.parametrize(
    ("reference", "found"),
    [
        ("Patient/7", "7"),
        (f"{BASE}/Patient/7", "7"),
        ("Patient/7/_history/2", "7"),
        ("http://ehr.example/Patient/7", None),
        ("Practitioner/7", None),
        ("Patient/", None),
        ("Patient/7/x", None),
        ("Patient?identifier=a|b", None),
    ],
)
def test_a_reference_to_a_patient_of_ours_is_known(reference: str, found: str | None) -> None:
    assert own_patient(reference, BASE) == found


def test_an_identifier_is_said_when_both_its_parts_are() -> None:
    said = {"system": "urn:s", "value": "7"}
    assert identifier_said({"patient": {"identifier": said}}) == Identifier(**said)
    half: tuple[Any, ...] = ({}, {"patient": {}}, {"patient": {"identifier": {"value": "7"}}})
    for document in half:
        assert identifier_said(document) is None
