"""Are the person, the stay, the assessor and the software named so that all can find them?"""

from msgspec.structs import replace

from service.domain.value import Identifier
from service.fhir.site import site_of
from service.fhir.subject import (
    assessor_of,
    encounter_of,
    patient_id,
    software_of,
    subject_of,
)
from tests.fhir.answers import (
    BARE,
    BASE,
    BOOK,
    FULL,
    PATIENT_ID,
    SCREEN_ID,
    SITE,
    answer_to,
    previewed,
)

FULL_RECORD = answer_to(FULL).screen
BARE_RECORD = answer_to(BARE).screen


def test_the_subject_has_reference_type_and_identifier() -> None:
    subject = subject_of(SITE, FULL_RECORD)
    assert subject.reference == f"Patient/{PATIENT_ID}"
    assert subject.type == "Patient"
    assert subject.identifier is not None
    assert subject.identifier.value == "H-1007"


def test_a_previewed_screen_names_a_patient_of_its_own() -> None:
    assert patient_id(previewed(answer_to(BARE)).screen) == f"{SCREEN_ID}-patient"


def test_stay_and_assessor_are_named_by_identifier_alone() -> None:
    for named in (encounter_of(FULL_RECORD), assessor_of(FULL_RECORD)):
        assert named is not None
        assert named.reference is None
        assert named.identifier is not None


def test_the_assessor_is_shown_by_role() -> None:
    assessor = assessor_of(FULL_RECORD)
    assert assessor is not None
    assert assessor.display == "physiotherapist"


def test_an_assessor_without_a_role_has_no_display() -> None:
    assert FULL.assessor is not None
    content = replace(FULL, assessor=replace(FULL.assessor, role=None))
    assessor = assessor_of(replace(FULL_RECORD, content=content))
    assert assessor is not None
    assert assessor.display is None


def test_what_was_not_said_is_not_named() -> None:
    assert encounter_of(BARE_RECORD) is None
    assert assessor_of(BARE_RECORD) is None


def test_the_software_is_known_by_the_digest_of_its_rules() -> None:
    software = software_of(SITE, BOOK.ref)
    assert software.identifier is not None
    assert software.identifier.value == BOOK.ref.digest


def test_a_subject_is_found_where_the_deployment_says() -> None:
    person = replace(FULL.patient, identifier=Identifier(system="urn:oid:2.999.7", value="H/7 ü"))
    record = replace(FULL_RECORD, content=replace(FULL, patient=person))
    theirs = site_of(BOOK, BASE, patients="https://ward.example/fhir/Patient/{value}")
    logical = site_of(BOOK, BASE, patients=None)
    found = subject_of(theirs, record)
    assert found.reference == "https://ward.example/fhir/Patient/H%2F7%20%C3%BC"
    alone = subject_of(logical, record)
    assert (alone.reference, alone.type) == (None, "Patient")
    assert alone.identifier == found.identifier


def test_a_person_known_by_another_id_now_is_found_there() -> None:
    assert subject_of(SITE, FULL_RECORD, "stays").reference == "Patient/stays"
