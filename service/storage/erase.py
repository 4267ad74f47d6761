"""How is all that is kept of a patient taken away, the audit trail staying whole?

The trail names a patient by an opaque id alone, so it stays as it is and tells of the erasure too.
"""

from collections.abc import Iterator
from datetime import datetime

from msgspec import Struct

from service.application.ports import Clock
from service.storage import statements_sqlite as sql
from service.storage.commanded import audit_command
from service.storage.connection import short_read, short_write, writing
from service.storage.place import Place, Server
from service.storage.rows import PatientRow
from service.storage.times import to_micros

_WAIT_MS = 2_000
_IN_ORDER = {
    "idempotency": sql.ERASE_IDEMPOTENCY,
    "outbox": sql.ERASE_OUTBOX,
    "plan_event": sql.ERASE_PLAN_EVENT,
    "plan": sql.ERASE_PLAN,
    "screen": sql.ERASE_SCREEN,
    "patient_id": sql.ERASE_PATIENT_ID,
    "merged patient": sql.ERASE_MERGED,
    "patient": sql.ERASE_PATIENT,
}


class Erased(Struct, frozen=True):
    """``rows``: how many of each kind were taken away. ``overwritten``: whether the freed bytes
    have left the log beside the database too, or will with its next checkpoint."""

    org: str
    patient: str
    rows: dict[str, int]
    overwritten: bool


def erase_patient(path: Place, clock: Clock, org: str, patient: str) -> Erased:
    """Of the patient and of all merged into it, while the service may be serving.

    Raises LookupError where there is no such patient, or it was merged into another.
    """
    with short_write(path) as connection:
        found = connection.execute(sql.PATIENT, {"org": org, "id": patient}).fetchone()
        if found is None:
            raise LookupError(f"There is no patient {patient} in organisation {org}.")
        into = PatientRow(*found).merged_into
        if into is not None:
            raise LookupError(f"Patient {patient} was merged into {into}: erase that one.")
        whose = {"of_org": org, "of_patient": patient}
        rows = {
            name: connection.execute(statement, whose).rowcount
            for name, statement in _IN_ORDER.items()
        }
        audit_command(connection, clock, org, "patient.erase", patient)
    return Erased(org, patient, rows, _overwritten(path))


def unseen_since(path: Place, org: str, since: datetime) -> tuple[str, ...]:
    """The patients of whom nothing was recorded at or after ``since``. Raises LookupError."""
    with short_read(path) as connection:
        if connection.execute(sql.ORGANISATION, {"org": org}).fetchone() is None:
            raise LookupError(f"There is no organisation {org}.")
        found = connection.execute(sql.UNSEEN_PATIENTS, {"org": org, "since": to_micros(since)})
        return tuple(_first(found))


def _first(rows: Iterator[tuple[str]]) -> Iterator[str]:
    for (value,) in rows:
        yield value


def _overwritten(path: Place) -> bool:
    """Bring the log into the file and empty it; not while somebody reads from it. A server does
    so by itself, in its own time."""
    if isinstance(path, Server):
        return False
    connection = writing(path, _WAIT_MS)
    try:
        busy, _, _ = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    finally:
        connection.close()
    return not busy
