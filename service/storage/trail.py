"""Which entries of the audit trail are asked for, and what do they say?"""

import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime

import msgspec
from msgspec import Struct

from service.application.ports import Clock
from service.application.trail_ports import Noted, Stretch, TrailLook
from service.storage import statements_sqlite as sql
from service.storage.commanded import audit_command
from service.storage.connection import short_write
from service.storage.cursor import read_trail_place, trail_word
from service.storage.place import Place
from service.storage.reads import root_of
from service.storage.rows import AuditRow, PatientRow
from service.storage.times import from_micros, to_micros

WINDOW = 1000
"""Entries that one reading looks at, at most."""
UNREADABLE = "unreadable"
"""The action and outcome of an entry whose body is none of the service's."""
_FIRST = to_micros(datetime.min.replace(tzinfo=UTC))
_LAST = to_micros(datetime.max.replace(tzinfo=UTC))
"""What lies outside the calendar the service did not write, and the check of the chain says so."""
_Place = tuple[int, int, int]


class _Body(Struct, frozen=True):
    action: str
    credential: str
    name: str
    outcome: str
    patient: str | None
    request_id: str
    target: str | None


_BODY = msgspec.json.Decoder(_Body)


def stretch_of(connection: sqlite3.Connection, org: str, look: TrailLook) -> Stretch:
    """Raises Refused where the cursor is none of ours."""
    after = None if look.after is None else read_trail_place(look.after)
    rows = _rows(connection, org, look, after, WINDOW)
    found: list[Noted] = []
    for index, row in enumerate(rows):
        one = noted(row)
        if not look.wanted(one):
            continue
        found.append(one)
        if len(found) == look.limit:
            ended = index == len(rows) - 1 and len(rows) < WINDOW
            return Stretch(tuple(found), None if ended else trail_word(*_place(row)))
    ended = len(rows) < WINDOW
    return Stretch(tuple(found), None if ended else trail_word(*_place(rows[-1])))


def entry_at(connection: sqlite3.Connection, org: str, chain: int, seq: int) -> Noted | None:
    named = {"org": org, "chain": chain, "seq": seq}
    row = connection.execute(sql.AUDIT_ENTRY, named).fetchone()
    return None if row is None else noted(AuditRow(*row))


def all_entries(
    connection: sqlite3.Connection, org: str, low: datetime | None, high: datetime | None
) -> Iterator[Noted]:
    """Every entry between two times, both included, oldest first, never all at once in memory."""
    look = TrailLook(newest_first=False, limit=WINDOW, wanted=lambda _: True, low=low, high=high)
    after: _Place | None = None
    while True:
        rows = _rows(connection, org, look, after, WINDOW)
        yield from map(noted, rows)
        if len(rows) < WINDOW:
            return
        after = _place(rows[-1])


def note_export(place: Place, clock: Clock, org: str) -> None:
    """That a copy of the trail leaves is noted in it first. Raises LookupError."""
    with short_write(place) as connection:
        if connection.execute(sql.ORGANISATION, {"org": org}).fetchone() is None:
            raise LookupError(f"There is no organisation {org}.")
        audit_command(connection, clock, org, "audit.export", "")


def same_patient(connection: sqlite3.Connection, org: str, patient: str) -> tuple[str, ...]:
    """The ids of one patient; ``patient`` alone where nobody is known by it."""
    root = root_of(connection, org, patient)
    if root is None:
        return (patient,)
    merged = connection.execute(sql.JOINED_PATIENTS, {"org": org, "merged_into": root.id})
    others = [PatientRow(*row).id for row in merged]
    return tuple(dict.fromkeys((patient, root.id, *others)))


def noted(row: AuditRow) -> Noted:
    at = from_micros(row.at)
    try:
        said = _BODY.decode(row.body)
    except msgspec.MsgspecError:
        # somebody else wrote it: the check of the chain says so, and it is not passed over here
        return Noted(chain=row.chain, seq=row.seq, at=at, action=UNREADABLE, outcome=UNREADABLE)
    return Noted(
        chain=row.chain,
        seq=row.seq,
        at=at,
        action=said.action,
        credential=said.credential,
        name=said.name,
        outcome=said.outcome,
        request_id=said.request_id,
        patient=said.patient,
        target=said.target,
    )


def _rows(
    connection: sqlite3.Connection, org: str, look: TrailLook, after: _Place | None, limit: int
) -> list[AuditRow]:
    """A cursor bounds the time as well, or each reading would walk to its place anew."""
    low = _FIRST if look.low is None else to_micros(look.low)
    high = _LAST if look.high is None else to_micros(look.high)
    if after is None:
        after = (_LAST + 1, 0, 0) if look.newest_first else (_FIRST - 1, 0, 0)
    elif look.newest_first:
        high = min(high, after[0])
    else:
        low = max(low, after[0])
    named = {
        "org": org,
        "low": low,
        "high": high,
        "after_at": after[0],
        "after_chain": after[1],
        "after_seq": after[2],
        "limit": limit,
    }
    statement = sql.AUDIT_DOWN if look.newest_first else sql.AUDIT_UP
    return [AuditRow(*row) for row in connection.execute(statement, named)]


def _place(row: AuditRow) -> _Place:
    return row.at, row.chain, row.seq
