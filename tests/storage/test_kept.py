"""Do stored rows give back the very values that went in?"""

from msgspec.structs import replace

from service.domain.record import PatientRecord, PlanEventKind
from service.storage.documents import EventDocument, decode_screen, encode, encode_plan
from service.storage.kept import (
    kept_plan,
    patient_record,
    plan_row,
    screen_document,
    screen_record,
    screen_row,
)
from service.storage.rows import PatientRow, PlanEventRow
from service.storage.times import to_micros
from tests.storage.made import House


def event(version: int, kind: str, said: EventDocument) -> PlanEventRow:
    return PlanEventRow("plan", version, "o", "p", version, 7, kind, "who", encode(said))


async def test_a_screen_row_gives_the_screen(house: House) -> None:
    new = house.new(source_id="S-1")
    body = screen_document(new, None)
    row = screen_row(new, "p", 1, 5, body)
    assert (row.source_id, row.observed) == ("S-1", to_micros(new.content.observed_at))
    record = screen_record(row, decode_screen(row.schema_no, row.body))
    assert record.content == new.content
    assert (record.id, record.version, record.status, record.patient_id) == (
        new.screen_id,
        1,
        "final",
        "p",
    )


async def test_a_plan_row_gives_the_plan_with_what_its_events_say(house: House) -> None:
    new = house.new()
    row = plan_row(new, "p", 1, encode_plan(new.assessment.plan))
    events = [
        event(1, "created", EventDocument(replaces="old")),
        event(2, "superseded", EventDocument(by_plan="next")),
    ]
    kept = kept_plan(row, events, row.id)
    assert kept.plan == replace(new.assessment.plan, patient_id="p", replaces="old")
    assert kept.is_current
    assert [(one.kind, one.by_plan) for one in kept.events] == [
        (PlanEventKind.CREATED, None),
        (PlanEventKind.SUPERSEDED, "next"),
    ]
    assert not kept_plan(row, events, None).is_current


def test_a_patient_row_gives_the_patient() -> None:
    row = PatientRow("o", "p", 3, "plan", "screen", 5, 9, None, 1, b"{}")
    assert patient_record(row) == PatientRecord("p", "plan")


async def test_an_assessment_is_stored_whole(house: House) -> None:
    new = house.new()
    document = decode_screen(1, screen_document(new, "why"))
    made = new.assessment
    assert (document.profile, document.tests, document.reason) == (made.profile, made.tests, "why")
