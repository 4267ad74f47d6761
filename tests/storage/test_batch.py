"""Does a batch write what it gathered, each row once, and see what it queued?"""

import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.application.ports import AuditEntry
from service.domain.problem import NotFound
from service.domain.record import PlanEventKind, Principal
from service.storage.batch import Batch
from service.storage.connection import writing
from service.storage.documents import EventDocument
from service.storage.ids import TimeOrderedIds
from service.storage.organisations import create_organisation
from service.storage.rows import PatientIdRow, PatientRow
from tests.storage.made import SteppingClock, empty_record


@pytest.fixture
def batch(tmp_path: Path) -> Iterator[Batch]:
    path, clock = tmp_path / "record.db", SteppingClock()
    empty_record(path)
    create_organisation(path, clock, "Harbour House", "UTC")
    connection = writing(path)
    yield Batch(connection, {}, 1_000_000, TimeOrderedIds(clock))
    connection.close()


def caller(batch: Batch) -> Principal:
    org = batch.connection.execute("SELECT org FROM organisation").fetchone()[0]
    return Principal(org, "c", "ward system")


def add_patient(batch: Batch, by: Principal) -> None:
    batch.add_patient(PatientRow(by.org, "p", 0, None, None, None, None, None, 1, b"{}"))


def count(connection: sqlite3.Connection, table: str) -> int:
    number: int = connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0]  # noqa: S608
    return number


def test_queued_rows_are_written_once_by_the_next_flush(batch: Batch) -> None:
    by = caller(batch)
    add_patient(batch, by)
    batch.add_identifier(PatientIdRow(by.org, "s", "v", "p"))
    batch.audit(AuditEntry("a", by, "r", "ok"))
    assert batch.patient_known_by(by.org, "s", "v") == "p"
    assert count(batch.connection, "patient") == 0
    batch.flush()
    batch.flush()
    tables = ("patient", "patient_id")
    assert [count(batch.connection, table) for table in tables] == [1, 1]
    assert batch.head(by.org).seq == 1


def test_events_of_a_plan_count_up_and_raise_the_patients_revision(batch: Batch) -> None:
    by = caller(batch)
    add_patient(batch, by)
    said = EventDocument()
    batch.add_event(by, "p", "plan", PlanEventKind.CREATED, said)
    batch.add_event(by, "p", "plan", PlanEventKind.SUPERSEDED, said)
    batch.flush()
    later = Batch(batch.connection, batch.heads, 2_000_000, str)
    later.add_event(by, "p", "plan", PlanEventKind.RESTORED, said)
    assert [event.version for event in batch.events_of("plan")] == [1, 2]
    assert [event.version for event in later.events_of("plan")] == [3]
    row = later.patient(by.org, "p")
    assert row is not None
    assert row.rev == 3


def test_a_changed_patient_is_updated_and_read_anew_after_forgetting(batch: Batch) -> None:
    by = caller(batch)
    add_patient(batch, by)
    batch.flush()
    row = batch.patient(by.org, "p")
    assert row is not None
    batch.put_patient(row._replace(current_plan="x"))
    batch.forget()
    batch.connection.execute("UPDATE patient SET current_plan = 'y'")
    again = batch.patient(by.org, "p")
    assert again is not None
    assert again.current_plan == "y"


def test_what_is_not_there_is_said(batch: Batch) -> None:
    by = caller(batch)
    with pytest.raises(NotFound):
        batch.organisation("nowhere")
    with pytest.raises(NotFound):
        batch.add_event(by, "nobody", "plan", PlanEventKind.CREATED, EventDocument())
    assert batch.patient(by.org, "nobody") is None
    assert batch.patient_known_by(by.org, "s", "v") is None


def test_the_heads_of_the_writer_stay_until_the_batch_is_kept(batch: Batch) -> None:
    by = caller(batch)
    later = Batch(batch.connection, batch.heads, 2_000_000, str)
    later.audit(AuditEntry("a", by, "r", "ok"))
    assert later.heads[by.org].seq == 1
    assert by.org not in batch.heads
