"""Which patient row stands for the person a screen names?"""

from msgspec.structs import replace

from service.domain.problem import Conflict, NotFound
from service.domain.record import PlanEventKind, Principal
from service.domain.subject import Subject
from service.storage import statements_sqlite as sql
from service.storage.batch import Batch
from service.storage.documents import (
    PATIENT_SCHEMA,
    EventDocument,
    PatientDocument,
    decode_patient,
    encode,
)
from service.storage.ids import patient_id
from service.storage.pointer import Choices, ended_too, last_end, leading_of, left_by, point
from service.storage.rows import PatientIdRow, PatientRow

_JOINED = "Two records were found to be one patient."


def root_of(batch: Batch, org: str, patient: str) -> PatientRow:
    """The patient, or the one it was merged into. Raises NotFound."""
    row = batch.patient(org, patient)
    while row is not None and row.merged_into is not None:
        row = batch.patient(org, row.merged_into)
    if row is None:
        raise NotFound("No such patient.")
    return row


def patient_for(batch: Batch, org: str, subject: Subject) -> PatientRow:
    """The patient known by the subject's identifier; a new one where none is.

    The other identifiers are learned too, where they belong to nobody yet: what two systems
    call a person may differ, but a screen never moves an identifier to another patient.
    """
    first = subject.identifier
    known = batch.patient_known_by(org, first.system, first.value)
    if known is None:
        key = batch.organisation(org).patient_key
        known = patient_id(key, first.system, first.value)
        if batch.patient(org, known) is None:
            batch.add_patient(_unmet(batch, org, known))
    root = root_of(batch, org, known)
    for identifier in (first, *subject.more_identifiers):
        if batch.patient_known_by(org, identifier.system, identifier.value) is None:
            batch.add_identifier(PatientIdRow(org, identifier.system, identifier.value, root.id))
    return root


def _unmet(batch: Batch, org: str, new_id: str) -> PatientRow:
    body = encode(PatientDocument(known_since=batch.at))
    return PatientRow(org, new_id, 0, None, None, None, None, None, PATIENT_SCHEMA, body)


def join(batch: Batch, by: Principal, patient: str, into: str) -> str:
    """Let ``into`` take over ``patient``; gives the id of the one that stays.

    Doing it twice is the same as once. Raises NotFound, Conflict.
    """
    gone, stays = batch.patient(by.org, patient), root_of(batch, by.org, into)
    if gone is None:
        raise NotFound("No such patient.")
    if gone.merged_into == stays.id:
        return stays.id
    if gone.merged_into is not None:
        raise Conflict("That patient was merged into another one before: merge that one.")
    if gone.id == stays.id:
        raise Conflict("They are one patient already, merged the other way round.")
    _settle_plans(batch, by, gone, stays)
    _redirect(batch, by, gone.id, stays.id)
    return stays.id


def _settle_plans(batch: Batch, by: Principal, gone: PatientRow, stays: PatientRow) -> None:
    """The later of the two current plans stands; the other one is superseded by it. That a plan
    of the one who goes now stands for the one who stays, or that what clinicians chose for the
    one that gives way is left behind, is an event of the one who stays."""
    ours, theirs = leading_of(stays), leading_of(gone)
    winner = max((one for one in (ours, theirs) if one is not None), default=None)
    left: Choices = ()
    for owner, plan in ((stays, ours), (gone, theirs)):
        if plan is not None and winner is not None and plan is not winner:
            said = EventDocument(by_plan=winner.plan, reason=_JOINED)
            left = left_by(batch, by.org, plan.plan)
            batch.add_event(by, owner.id, plan.plan, PlanEventKind.SUPERSEDED, said)
    if winner is not None and (winner is theirs or left):
        said = EventDocument(reason=_JOINED, set_aside=left)
        batch.add_event(by, stays.id, winner.plan, PlanEventKind.RESTORED, said)
    if winner is not None:
        winner = ended_too(batch, by, stays.id, winner, last_end(batch, by.org, stays.id, gone.id))
    point(batch, by.org, stays.id, winner)


def _redirect(batch: Batch, by: Principal, gone: str, stays: str) -> None:
    row = root_of(batch, by.org, gone)
    before = decode_patient(row.schema_no, row.body)
    document = replace(before, merged_at=batch.at, merged_by=by.name, merged_to=stays)
    batch.put_patient(
        row._replace(
            rev=row.rev + 1,
            current_plan=None,
            current_screen=None,
            current_observed=None,
            current_until=None,
            merged_into=stays,
            schema_no=PATIENT_SCHEMA,
            body=encode(document),
        )
    )
    batch.forget()
    batch.connection.execute(sql.REDIRECT_MERGED, {"into": stays, "of_org": by.org, "gone": gone})
