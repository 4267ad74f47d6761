"""Is a person told in the version in which they were known so?"""

from datetime import timedelta

from service.application.person_history import KnownBy, Person, turns_of
from service.application.ports import Family, Joined
from service.application.search_ports import Told
from service.domain.record import ScreenStatus
from service.domain.value import Identifier
from service.fhir.encode import bytes_of
from service.fhir.patient_history import patient_at
from tests.fhir.answers import FULL, PATIENT_ID, RECORDED_AT, SITE, answer_to
from tests.fhir.validators import form_faults, official_faults, read

OTHER = "01957a3c-5d30-7c41-9a6b-ffffffffffff"
LATER = RECORDED_AT + timedelta(minutes=5)
RECORD = answer_to(FULL).screen
ROWS = (Told("a", 1, RECORDED_AT, ScreenStatus.FINAL),)


def test_one_that_another_took_over_is_not_active_from_then_on() -> None:
    now, before = turns_of(ROWS, Family(PATIENT_ID, (), OTHER, LATER))
    gone, was = patient_at(SITE, Person(now, RECORD)), patient_at(SITE, Person(before, RECORD))
    assert (gone.active, gone.link[0].type) == (False, "replaced-by")
    assert (gone.meta.version_id, gone.meta.last_updated) == ("a.1.1", LATER)
    assert (was.active, was.link, was.meta.version_id) == (None, (), "a.1")


def test_every_identifier_is_told_and_a_former_one_as_that() -> None:
    (now, _) = turns_of(ROWS, Family(PATIENT_ID, (Joined(OTHER, LATER),)))
    former = KnownBy(Identifier(system="urn:oid:2.999.7", value="H-OTHER"), is_old=True)
    more = KnownBy(Identifier(system="urn:oid:2.999.71", value="E-5"))
    made = patient_at(SITE, Person(now, RECORD, (former, more)))
    assert [(one.value, one.use) for one in made.identifier] == [
        ("H-1007", None), ("N-12", None), ("H-OTHER", "old"), ("E-5", None),
    ]  # fmt: skip
    assert made.text is not None
    assert "Other identifiers: N-12, E-5. Former identifiers: H-OTHER." in made.text.div
    assert official_faults(read(bytes_of(made))) == []
    assert form_faults(bytes_of(made)) == []
