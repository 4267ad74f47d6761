"""How do stored rows become the values that were kept, and the other way round?"""

from collections.abc import Sequence

from msgspec.structs import replace

from service.application.ports import Correction, KeptPlan, NewScreen
from service.domain.record import (
    PatientRecord,
    PlanEvent,
    PlanEventKind,
    ScreenRecord,
    ScreenStatus,
)
from service.storage.documents import (
    PLAN_SCHEMA,
    SCREEN_SCHEMA,
    EventDocument,
    ScreenDocument,
    decode_event,
    decode_plan,
    encode_screen,
)
from service.storage.rows import PatientRow, PlanEventRow, PlanRow, ScreenRow
from service.storage.times import from_micros, to_micros


def screen_row(
    said: NewScreen | Correction, patient: str, version: int, recorded: int, body: bytes
) -> ScreenRow:
    status = ScreenStatus.FINAL if version == 1 else ScreenStatus.AMENDED
    return ScreenRow(
        id=said.screen_id,
        version=version,
        org=said.principal.org,
        patient=patient,
        observed=to_micros(said.content.observed_at),
        recorded=recorded,
        status=status.value,
        source_id=said.content.source_id,
        features=said.assessment.features,
        rule_book=said.assessment.plan.rule_book.digest,
        schema_no=SCREEN_SCHEMA,
        body=body,
    )


def plan_row(said: NewScreen | Correction, patient: str, version: int, body: bytes) -> PlanRow:
    plan = said.assessment.plan
    return PlanRow(
        id=plan.id,
        org=said.principal.org,
        patient=patient,
        screen=said.screen_id,
        screen_version=version,
        valid_from=to_micros(plan.valid_from),
        valid_until=to_micros(plan.valid_until),
        rule_book=plan.rule_book.digest,
        schema_no=PLAN_SCHEMA,
        body=body,
    )


def screen_document(said: NewScreen | Correction, reason: str | None) -> bytes:
    made = said.assessment
    document = ScreenDocument(said.content, made.profile, made.tests, said.principal.name, reason)
    return encode_screen(document)


def screen_record(row: ScreenRow, document: ScreenDocument) -> ScreenRecord:
    return ScreenRecord(
        id=row.id,
        version=row.version,
        status=ScreenStatus(row.status),
        patient_id=row.patient,
        recorded_at=from_micros(row.recorded),
        recorded_by=document.recorded_by,
        content=document.content,
        correction_reason=document.reason,
    )


def patient_record(row: PatientRow) -> PatientRecord:
    return PatientRecord(row.id, row.current_plan, row.merged_into)


def plan_events(events: Sequence[PlanEventRow]) -> tuple[PlanEvent, ...]:
    """The events of a plan, in their order."""
    return tuple(plan_event(event, decode_event(event.body)) for event in events)


def plan_event(event: PlanEventRow, words: EventDocument) -> PlanEvent:
    return PlanEvent(
        event.plan,
        event.version,
        PlanEventKind(event.kind),
        from_micros(event.at),
        event.actor,
        words.by_plan,
        words.reason,
        event.patient,
        words.overruled,
        words.set_aside,
        words.since,
    )


def kept_plan(row: PlanRow, events: Sequence[PlanEventRow], current: str | None) -> KeptPlan:
    """``current``: the plan the patient's pointer names."""
    said = [decode_event(event.body) for event in events]
    plan = replace(
        decode_plan(row.schema_no, row.body),
        patient_id=row.patient,
        screen_id=row.screen,
        screen_version=row.screen_version,
        replaces=said[0].replaces if said else None,
    )
    told = tuple(plan_event(event, words) for event, words in zip(events, said, strict=True))
    return KeptPlan(plan, told, current == row.id)
