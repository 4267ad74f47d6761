"""How does a kept screen change: corrected, or withdrawn?"""

from msgspec.structs import replace

from service.application.ports import AuditEntry, Correction, Withdrawal
from service.domain.problem import Conflict, NotFound, StaleVersion
from service.domain.record import ScreenStatus
from service.storage import statements_sqlite as sql
from service.storage.batch import Batch
from service.storage.documents import (
    SCREEN_SCHEMA,
    decode_screen,
    encode_plan,
    encode_screen,
)
from service.storage.keep_screen import Stored
from service.storage.kept import plan_row, screen_document, screen_row
from service.storage.people import patient_for, root_of
from service.storage.pointer import retract, revise
from service.storage.rows import PlanRow, ScreenRow


def correct(batch: Batch, said: Correction) -> Stored:
    """A new version with a new plan. Raises NotFound, StaleVersion, Conflict."""
    by = said.principal
    before = _screen(batch, by.org, said.screen_id)
    _must_stand_at(before, said.expected_version)
    if before.status == ScreenStatus.WITHDRAWN.value:
        raise Conflict("The screen was withdrawn: post a new one instead of correcting it.")
    version = before.version + 1
    root = root_of(batch, by.org, before.patient)
    named = said.content.patient.identifier
    known = batch.patient_known_by(by.org, named.system, named.value)
    if known is None or root_of(batch, by.org, known).id != root.id:
        raise Conflict("The corrected screen names another patient: withdraw it, post a new one.")
    root = patient_for(batch, by.org, said.content.patient)
    old_plan = _plan_of(batch, before)
    document = screen_document(said, said.reason)
    batch.add(screen_row(said, root.id, version, batch.at, document))
    batch.add(plan_row(said, root.id, version, encode_plan(said.assessment.plan)))
    revise(batch, by, root, old_plan.id, said.assessment.plan.id)
    batch.audit(AuditEntry("screen.correct", by, said.request_id, "ok", root.id, said.screen_id))
    return Stored(said.screen_id, version, replayed=False)


def withdraw(batch: Batch, said: Withdrawal) -> Stored:
    """Marked and kept. Twice is the same as once. Raises NotFound, StaleVersion."""
    by = said.principal
    before = _screen(batch, by.org, said.screen_id)
    if said.expected_version is not None:
        _must_stand_at(before, said.expected_version)
    root = root_of(batch, by.org, before.patient)
    if before.status != ScreenStatus.WITHDRAWN.value:
        document = decode_screen(before.schema_no, before.body)
        batch.add(
            before._replace(
                version=before.version + 1,
                recorded=batch.at,
                status=ScreenStatus.WITHDRAWN.value,
                schema_no=SCREEN_SCHEMA,
                body=encode_screen(replace(document, recorded_by=by.name, reason=said.reason)),
            )
        )
        retract(batch, by, root, _plan_of(batch, before).id, said.reason)
    batch.audit(AuditEntry("screen.withdraw", by, said.request_id, "ok", root.id, said.screen_id))
    return Stored(said.screen_id, None, replayed=False)


def _screen(batch: Batch, org: str, screen: str) -> ScreenRow:
    batch.flush()
    row = batch.one(sql.SCREEN, org=org, id=screen)
    if row is None:
        raise NotFound("No such screen.")
    return ScreenRow(*row)


def _plan_of(batch: Batch, screen: ScreenRow) -> PlanRow:
    row = batch.one(sql.PLAN_OF_SCREEN, org=screen.org, screen=screen.id, version=screen.version)
    return PlanRow(*row)


def _must_stand_at(row: ScreenRow, expected: int) -> None:
    if row.version != expected:
        raise StaleVersion(
            f"The screen stands at version {row.version}, not {expected}: read it again first."
        )
