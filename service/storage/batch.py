"""What has one transaction read, and what is it going to write?

Jobs of a batch decide one after the other on what is gathered here; rows go out together,
one statement a table. A job that has to see its own rows flushes first.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from service.application.ports import AuditEntry, NewId
from service.domain.problem import NotFound
from service.domain.record import PlanEvent, PlanEventKind, Principal
from service.storage import statements_sqlite as sql
from service.storage.chain import SERVING, Head, chain_start, entry_body, next_entry
from service.storage.documents import EventDocument, decode_settings, encode
from service.storage.foresight import Foresight
from service.storage.kept import plan_event, plan_events
from service.storage.rows import (
    AuditRow,
    IdempotencyRow,
    OrganisationRow,
    OutboxRow,
    PatientIdRow,
    PatientRow,
    PlanEventRow,
    PlanRow,
    ScreenRow,
)

_ORDER: tuple[tuple[type[Any], str], ...] = (
    (PatientIdRow, sql.ENSURE_PATIENT_ID),
    (IdempotencyRow, sql.CLAIM_KEY),
    (ScreenRow, sql.INSERT_SCREEN),
    (PlanRow, sql.INSERT_PLAN),
    (PlanEventRow, sql.INSERT_PLAN_EVENT),
    (OutboxRow, sql.INSERT_OUTBOX),
    (AuditRow, sql.INSERT_AUDIT),
)

_LEARNED = (
    "heads", "claims", "sources", "_patients", "_absent", "_changed", "_identifiers", "_versions",
    "_told", "_events", "_rows",
)  # fmt: skip


class Batch:
    """``at``: the time of the whole batch, microseconds. ``heads``: the audit chains' last entries.

    What a batch learned is thrown away with it unless its transaction is committed.
    """

    def __init__(
        self, connection: sqlite3.Connection, heads: dict[str, Head], at: int, new_id: NewId
    ) -> None:
        self.connection = connection
        self.foresight = Foresight(connection)
        self.heads = dict(heads)
        self.at = at
        self.claims: dict[tuple[str, str, str, str], IdempotencyRow] = {}
        self.sources: dict[tuple[str, str], ScreenRow] = {}
        self._new_id = new_id
        self._organisations: dict[str, OrganisationRow] = {}
        self._targets: dict[str, tuple[str, ...]] = {}
        self._patients: dict[tuple[str, str], PatientRow] = {}
        self._absent: set[tuple[str, str]] = set()
        self._changed: set[tuple[str, str]] = set()
        self._identifiers: dict[tuple[str, str, str], str] = {}
        self._versions: dict[str, int] = {}
        self._told: set[str] = set()
        self._events: dict[str, list[PlanEvent]] = {}
        self._rows: dict[type[Any], list[tuple[Any, ...]]] = {kind: [] for kind, _ in _ORDER}

    def add(self, row: tuple[Any, ...]) -> None:
        """Queue a row of any table for the next flush."""
        self._rows[type(row)].append(row)

    def one(self, statement: str, **named: Any) -> Any:
        """The first row a statement gives, or None."""
        return self.foresight.row(self.connection, statement, named)

    def organisation(self, org: str) -> OrganisationRow:
        """Raises NotFound."""
        if org not in self._organisations:
            row = self.one(sql.ORGANISATION, org=org)
            if row is None:
                raise NotFound("No such organisation.")
            self._organisations[org] = OrganisationRow(*row)
            self._targets[org] = decode_settings(self._organisations[org].settings).delivery_targets
        return self._organisations[org]

    def patient(self, org: str, patient: str) -> PatientRow | None:
        key = (org, patient)
        if key not in self._patients:
            row = self.one(sql.PATIENT, org=org, id=patient)
            if row is None:
                return None
            self._patients[key] = PatientRow(*row)
        return self._patients[key]

    def put_patient(self, row: PatientRow) -> None:
        self._patients[row.org, row.id] = row
        self._changed.add((row.org, row.id))

    def add_patient(self, row: PatientRow) -> None:
        self._absent.add((row.org, row.id))
        self.put_patient(row)

    def patient_known_by(self, org: str, system: str, value: str) -> str | None:
        key = (org, system, value)
        if key not in self._identifiers:
            row = self.one(sql.PATIENT_ID, org=org, system=system, value=value)
            if row is None:
                return None
            self._identifiers[key] = row[0]
        return self._identifiers[key]

    def add_identifier(self, row: PatientIdRow) -> None:
        self._identifiers[row.org, row.system, row.value] = row.patient
        self.add(row)

    def events_of(self, plan: str) -> tuple[PlanEvent, ...]:
        """The events this batch added to a plan."""
        return tuple(self._events.get(plan, ()))

    def add_event(
        self,
        by: Principal,
        patient: str,
        plan: str,
        kind: PlanEventKind,
        said: EventDocument,
        at: int | None = None,
    ) -> None:
        """Append to a plan's history, raise the patient's revision, and tell the targets."""
        happened = self.at if at is None else at
        row = self.patient(by.org, patient)
        if row is None:
            raise NotFound("No such patient.")
        row = row._replace(rev=row.rev + 1)
        self.put_patient(row)
        version = self._next_version(plan, kind)
        event = PlanEventRow(
            plan, version, by.org, patient, row.rev, happened, kind.value, by.name, encode(said)
        )
        self._events.setdefault(plan, []).append(plan_event(event, said))
        self.add(event)
        if said.overruled is not None or said.reason is not None:
            self._told.add(plan)
        self.organisation(by.org)
        for target in self._targets[by.org]:
            ref = f"{plan}/{version}"
            self.add(
                OutboxRow(self._new_id(), by.org, patient, row.rev, target, ref, self.at, 0, None)
            )

    def _next_version(self, plan: str, kind: PlanEventKind) -> int:
        last = 0 if kind is PlanEventKind.CREATED else self._last_version(plan)
        self._versions[plan] = last + 1
        return last + 1

    def _last_version(self, plan: str) -> int:
        if plan not in self._versions:
            last, told = self.one(sql.LAST_EVENT, plan=plan)
            self._versions[plan] = last or 0
            if told is not None:
                self._told.add(plan)
        return self._versions[plan]

    def story_of(self, org: str, plan: str, *, whole: bool = False) -> tuple[PlanEvent, ...]:
        """The events of a plan that was overruled or ended before its time; of any other one it
        may be none where not ``whole``."""
        self._last_version(plan)
        if not whole and plan not in self._told:
            return ()
        self.flush()
        told = self.connection.execute(sql.EVENTS, {"org": org, "plan": plan})
        return plan_events([PlanEventRow(*event) for event in told])

    def audit(self, entry: AuditEntry) -> None:
        org = entry.principal.org
        row = next_entry(org, SERVING, self.head(org), self.at, entry_body(entry))
        self.heads[org] = Head(row.seq, row.digest)
        self.add(row)

    def head(self, org: str) -> Head:
        """The last entry of the serving chain of an organisation."""
        if org not in self.heads:
            row = self.one(sql.CHAIN_HEAD, org=org, chain=SERVING)
            last = None if row is None else AuditRow(*row)
            self.heads[org] = Head(last.seq, last.digest) if last else chain_start(org, SERVING)
        return self.heads[org]

    def flush(self) -> None:
        """Write all that is queued, one statement a table, in an order that is always the same."""
        if self._changed or any(self._rows.values()):
            self.foresight.forget()
        for kind, statement in _ORDER:
            rows = self._rows[kind]
            if rows:
                self.connection.executemany(statement, rows)
                rows.clear()
        new = sorted(self._changed & self._absent)
        self.connection.executemany(sql.INSERT_PATIENT, [self._patients[key] for key in new])
        known = [self._patients[key] for key in sorted(self._changed - self._absent)]
        self.connection.executemany(
            sql.UPDATE_PATIENT,
            [row._asdict() | {"of_org": row.org, "of_id": row.id} for row in known],
        )
        self._absent.clear()
        self._changed.clear()

    @contextmanager
    def all_or_nothing(self) -> Iterator[None]:
        """What is decided inside is undone, and this batch knows nothing of it, when it raises."""
        self.flush()
        before = {name: _copied(getattr(self, name)) for name in _LEARNED}
        self.connection.execute("SAVEPOINT several")
        try:
            yield
            self.flush()
        except BaseException:
            if self.connection.in_transaction:
                self.connection.execute("ROLLBACK TO several")
                self.connection.execute("RELEASE several")
            for name, learned in before.items():
                setattr(self, name, learned)
            raise
        self.connection.execute("RELEASE several")

    def forget(self) -> None:
        """After rows were changed beside this batch: read them anew."""
        self.flush()
        self._patients.clear()


def _copied(learned: Any) -> Any:
    """A copy that what is added to the lists inside does not reach."""
    if isinstance(learned, dict):
        return {
            key: list(value) if isinstance(value, list) else value for key, value in learned.items()
        }
    return set(learned)
