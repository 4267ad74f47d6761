"""Is a standard that the operator switched off sent nowhere, and everything else unchanged?"""

import json

import pytest

from service.app_fhir import site_for
from service.fhir.bundle import bundle_of
from service.fhir.codes import LOINC, SNOMED
from service.fhir.definitions.everything import all_definitions
from service.fhir.encode import bytes_of
from service.fhir.site import Site
from service.settings import Settings, SettingsError, Switch, from_environment
from tests.fhir.answers import BOOK, FULL, HELPED, PATIENT_ID, answer_to
from tests.fhir.standings import WITHHELD

BOTH = site_for(Settings(), BOOK)


def everything(site: Site) -> bytes:
    """All that goes out: answers to several screens, and every definition."""
    answers = [bundle_of(site, answer_to(one)) for one in (FULL, HELPED, WITHHELD)]
    return b"\n".join(bytes_of(one) for one in (*answers, *all_definitions(site)))


def test_both_are_spoken_where_nothing_is_said() -> None:
    told = everything(BOTH)
    assert SNOMED.encode() in told
    assert LOINC.encode() in told


@pytest.mark.parametrize(("name", "off"), [("SNOMED", SNOMED), ("LOINC", LOINC)])
def test_what_is_switched_off_leaves_nowhere_and_the_other_stays(name: str, off: str) -> None:
    settings = from_environment({f"STANCHION_FHIR_{name}": "off"})
    told = everything(site_for(settings, BOOK))
    assert off.encode() not in told
    assert ({LOINC, SNOMED} - {off}).pop().encode() in told


def test_our_own_codes_are_the_same_either_way() -> None:
    off = site_for(Settings(fhir_snomed=Switch.OFF, fhir_loinc=Switch.OFF), BOOK)
    for kind, code in (("flag", "falls"), ("vital_sign", "spo2_percent"), ("method", "sling_lift")):
        alone = off.concept(kind, code, "Words")
        assert len(alone.coding) == 1
        assert alone.coding == BOTH.concept(kind, code, "Words").coding[:1]


@pytest.mark.parametrize(
    ("said", "subject"),
    [
        ("own", f"Patient/{PATIENT_ID}"),
        ("none", None),
        ("https://ward.example/Patient/{value}", "https://ward.example/Patient/H-1007"),
    ],
)
def test_every_resource_refers_to_the_person_as_the_operator_said(
    said: str, subject: str | None
) -> None:
    site = site_for(from_environment({"STANCHION_FHIR_PATIENT": said}), BOOK)
    bundle = json.loads(bytes_of(bundle_of(site, answer_to(FULL))))
    people = [
        one["resource"].get("subject") or one["resource"].get("for") for one in bundle["entry"]
    ]
    told = [person for person in people if person is not None]
    assert {person.get("reference") for person in told} == {subject}
    assert {person["identifier"]["value"] for person in told} == {"H-1007"}


@pytest.mark.parametrize("said", ["theirs", "Patient/{value}", "https://ward.example/Patient/1"])
def test_an_address_that_names_no_person_is_refused(said: str) -> None:
    with pytest.raises(SettingsError, match="FHIR_PATIENT"):
        from_environment({"STANCHION_FHIR_PATIENT": said})
