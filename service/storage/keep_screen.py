"""How does a new screen enter the record, once?"""

from collections.abc import Callable

from msgspec import Struct
from msgspec.structs import replace

from service.application.ports import AuditEntry, KeptPlan, KeptScreen, NewScreen, Once
from service.domain.problem import Conflict, Fault, KeyReused
from service.domain.record import Principal, ScreenRecord, ScreenStatus
from service.storage import statements_sqlite as sql
from service.storage.batch import Batch
from service.storage.documents import decode_screen, encode_plan
from service.storage.kept import plan_row, screen_document, screen_row
from service.storage.people import patient_for, root_of
from service.storage.pointer import Leading, arrive
from service.storage.rows import IdempotencyRow, ScreenRow
from service.storage.times import from_micros, to_micros

CLAIM_LIFE_US = 7 * 24 * 3600 * 1_000_000
"""How long an idempotency key is remembered."""


class Stored(Struct, frozen=True):
    """The answer lies in the record already: read it from there."""

    screen: str
    version: int | None
    replayed: bool


class Encoded(Struct, frozen=True):
    """The documents of an assessed screen, made before its transaction begins."""

    screen: bytes
    plan: bytes


def encoded(new: NewScreen) -> Encoded:
    return Encoded(screen_document(new, None), encode_plan(new.assessment.plan))


def keep(batch: Batch, new: NewScreen, documents: Encoded) -> Callable[[], KeptScreen | Stored]:
    """Claim, keep and plan. Gives what answers once it is on disk. Raises KeyReused, Conflict."""
    earlier = _answered_before(batch, new)
    if earlier is not None:
        entry = AuditEntry("screen.record", new.principal, new.request_id, "replayed")
        batch.audit(replace(entry, target=earlier))
        return lambda: Stored(earlier, 1, replayed=True)
    by, plan = new.principal, new.assessment.plan
    root = patient_for(batch, by.org, new.content.patient)
    row = screen_row(new, root.id, 1, batch.at, documents.screen)
    batch.add(row)
    if row.source_id is not None:
        batch.sources[by.org, row.source_id] = row
    batch.add(plan_row(new, root.id, 1, documents.plan))
    until = to_micros(plan.valid_until)
    replaces = arrive(batch, by, root, Leading(row.observed, row.id, plan.id, until))
    _claim(batch, new, row.id)
    batch.audit(AuditEntry("screen.record", by, new.request_id, "ok", root.id, row.id))
    return lambda: _kept(batch, new, root.id, replaces)


def _answered_before(batch: Batch, new: NewScreen) -> str | None:
    """The screen that the same key, or the same sender's id, stored with the same content."""
    claimed = _claimed(batch, new)
    if claimed is not None:
        return claimed
    source = new.content.source_id
    if source is None:
        return None
    row = _of_source(batch, new.principal.org, source)
    if row is None:
        return None
    if decode_screen(row.schema_no, row.body).content != new.content:
        raise Conflict(
            "A screen with this source_id and other content is stored already: "
            "correct that one, or send another source_id.",
            (Fault("/source_id", "source_id.taken", "Belongs to a screen stored before."),),
        )
    _claim(batch, new, row.id)
    return row.id


def _claimed(batch: Batch, new: NewScreen) -> str | None:
    if new.once is None:
        return None
    key = _claim_key(new.principal, new.once)
    row = batch.claims.get(key)
    if row is None:
        org, credential, operation, word = key
        found = batch.one(sql.CLAIM, org=org, credential=credential, operation=operation, key=word)
        row = None if found is None else IdempotencyRow(*found)
    if row is None or row.at < batch.at - CLAIM_LIFE_US:
        return None
    if row.digest != new.once.digest:
        raise KeyReused("This idempotency key came before with another body: use a new key.")
    return row.screen


def _claim(batch: Batch, new: NewScreen, screen: str) -> None:
    if new.once is None:
        return
    key = _claim_key(new.principal, new.once)
    row = IdempotencyRow(*key, new.once.digest, screen, batch.at)
    batch.claims[key] = row
    batch.add(row)


def _claim_key(by: Principal, once: Once) -> tuple[str, str, str, str]:
    return (by.org, by.credential, once.operation, once.key)


def _of_source(batch: Batch, org: str, source: str) -> ScreenRow | None:
    if (org, source) in batch.sources:
        return batch.sources[org, source]
    found = batch.one(sql.SCREEN_OF_SOURCE, org=org, source_id=source)
    return None if found is None else ScreenRow(*found)


def _kept(batch: Batch, new: NewScreen, patient: str, replaces: str | None) -> KeptScreen:
    """The answer as it stands after the commit, later writes of the same batch included."""
    made = new.assessment
    record = ScreenRecord(
        id=new.screen_id,
        version=1,
        status=ScreenStatus.FINAL,
        patient_id=patient,
        recorded_at=from_micros(batch.at),
        recorded_by=new.principal.name,
        content=new.content,
    )
    plan = replace(
        made.plan,
        patient_id=patient,
        screen_id=new.screen_id,
        screen_version=1,
        replaces=replaces,
    )
    current = root_of(batch, new.principal.org, patient).current_plan == plan.id
    kept = KeptPlan(plan, batch.events_of(plan.id), current)
    return KeptScreen(record, made.profile, made.tests, kept)
