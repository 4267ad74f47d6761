"""Which rows does one stretch of a search give, and what is made of them?"""

import sqlite3
from collections.abc import Iterable, Iterator
from datetime import datetime
from heapq import merge
from itertools import islice
from typing import Any, NamedTuple

from service.application.ports import KeptScreen
from service.application.search_ports import (
    By,
    FoundScreen,
    Look,
    Screened,
    Told,
)
from service.domain.record import Page, PatientRecord, ScreenRecord, ScreenStatus
from service.storage import statements_sqlite as sql
from service.storage.cursor import read_place, word_of
from service.storage.documents import decode_identifiers, decode_screen
from service.storage.kept import patient_record, screen_record
from service.storage.reads import plan_with_events, root_of
from service.storage.rows import OrganisationRow, PatientRow, PlanRow, ScreenRow
from service.storage.times import from_micros, to_micros

_EVER = 2**62
_MOST_SYSTEMS = 200
_MOST_VERSIONS = 200


class Place(NamedTuple):
    """Where a row stands in the order that it was found in."""

    at: int
    id: str
    version: int


def find_screens(connection: sqlite3.Connection, org: str, look: Look) -> tuple[FoundScreen, ...]:
    found = []
    known: dict[str, tuple[Screened, ...]] = {}
    for place in places(connection, org, look, "screen"):
        if place.id not in known:
            known[place.id] = tuple(map(_screened, _rows_of(connection, org, place.id)))
        found.append(
            FoundScreen(begin_of(look, place), word_of(*place), place.version, known[place.id])
        )
    return tuple(found)


def versions_of(connection: sqlite3.Connection, org: str, screen: str) -> tuple[KeptScreen, ...]:
    """The newest versions, oldest first; none where there is no such screen."""
    rows = _rows_of(connection, org, screen)
    owner = root_of(connection, org, rows[0].patient) if rows else None
    found = []
    for row in rows:
        document = decode_screen(row.schema_no, row.body)
        named = _of(org, screen=row.id, version=row.version)
        plan_row = PlanRow(*connection.execute(sql.PLAN_OF_SCREEN, named).fetchone())
        plan = plan_with_events(connection, plan_row, owner)
        record = screen_record(row, document)
        found.append(KeptScreen(record, document.profile, document.tests, plan))
    return tuple(found)


def find_patients(
    connection: sqlite3.Connection, org: str, limit: int, after: str | None
) -> Page[PatientRecord]:
    """Patients in the order of their ids, those merged into others too."""
    named = _of(org, after_id=after or "", limit=limit + 1)
    rows = [PatientRow(*row) for row in connection.execute(sql.PATIENTS_AFTER, named)]
    shown = rows[:limit]
    more = shown[-1].id if len(rows) > limit else None
    return Page(tuple(map(patient_record, shown)), more)


def patients_with(
    connection: sqlite3.Connection, org: str, value: str
) -> tuple[PatientRecord, ...]:
    """Who is known by ``value``, whoever issued it: each that stays after merges, once."""
    found = {}
    for system in islice(_systems(connection, org), _MOST_SYSTEMS):
        named = _of(org, system=system, value=value)
        row = connection.execute(sql.PATIENT_ID, named).fetchone()
        root = None if row is None else root_of(connection, org, row[0])
        if root is not None:
            found[root.id] = patient_record(root)
    return tuple(found.values())


def told_of(connection: sqlite3.Connection, org: str, patient: str, limit: int) -> tuple[Told, ...]:
    """What the patient's own screens told, newest first; not those of one merged into it."""
    rows = connection.execute(sql.TOLD_OF, _of(org, patient=patient, limit=limit))
    return tuple(
        Told(screen, version, from_micros(at), ScreenStatus(status), decode_identifiers(no, body))
        for screen, version, at, status, no, body in rows
    )


def time_zone(connection: sqlite3.Connection, org: str) -> str:
    row = connection.execute(sql.ORGANISATION, _of(org)).fetchone()
    return "UTC" if row is None else OrganisationRow(*row).time_zone


def record_of(
    connection: sqlite3.Connection, org: str, screen: str, version: int
) -> ScreenRecord | None:
    named = _of(org, id=screen, version=version)
    found = connection.execute(sql.SCREEN_VERSION, named).fetchone()
    return None if found is None else _screened(ScreenRow(*found)).screen


def _rows_of(connection: sqlite3.Connection, org: str, screen: str) -> list[ScreenRow]:
    """The newest versions, oldest first."""
    named = _of(org, id=screen, limit=_MOST_VERSIONS)
    return [ScreenRow(*row) for row in connection.execute(sql.VERSIONS_OF, named)][::-1]


def _screened(row: ScreenRow) -> Screened:
    document = decode_screen(row.schema_no, row.body)
    return Screened(screen_record(row, document), document.profile, document.tests)


def _systems(connection: sqlite3.Connection, org: str) -> Iterator[str]:
    """Who issues identifiers, one jump along the key each."""
    system = ""
    while True:
        named = _of(org, after_system=system)
        system = connection.execute(sql.NEXT_SYSTEM, named).fetchone()[0]
        if system is None:
            return
        yield system


def begin_of(look: Look, place: Place) -> str:
    """The place just before a row. By observed whichever version the row comes to have."""
    exact = look.by is By.CHANGED
    if look.newest_first:
        return word_of(place.at, place.id, place.version + 1 if exact else _EVER)
    return word_of(place.at, place.id, place.version - 1 if exact else 0)


def places(connection: sqlite3.Connection, org: str, look: Look, table: str) -> Iterable[Place]:
    """For several patients each list is read as far as the whole may need it."""
    order = "observed" if look.by is By.OBSERVED else "changed"
    way = "down" if look.newest_first else "up"
    scope = "all" if look.patients is None else "patient"
    statement: str = getattr(sql, f"FIND_{table}_{order}_{scope}_{way}".upper())
    named = _bounds(look) | {"org": org, "limit": look.limit}
    lists = [
        _run(connection, statement, named | {"patient": patient})
        for patient in ([""] if look.patients is None else look.patients)
    ]
    return islice(merge(*lists, reverse=look.newest_first), look.limit)


def _run(connection: sqlite3.Connection, statement: str, named: dict[str, Any]) -> list[Place]:
    rows = connection.execute(statement, named)
    return [Place(at, row_id, version) for row_id, version, at in rows]


def _bounds(look: Look) -> dict[str, Any]:
    """The cursor bounds the time as well, or the walk would begin anew with each page."""
    low, high = _micros(look.low, -_EVER), _micros(look.high, _EVER)
    after = read_place(look.after) if look.after is not None else None
    if after is None:
        after = (_EVER, "", 0) if look.newest_first else (-_EVER, "", 0)
    elif look.newest_first:
        high = min(high, after[0])
    else:
        low = max(low, after[0])
    return {
        "low": low,
        "high": high,
        "after_at": after[0],
        "after_id": after[1],
        "after_version": after[2],
    }


def _micros(time: datetime | None, otherwise: int) -> int:
    return otherwise if time is None else to_micros(time)


def _of(org: str, **named: Any) -> dict[str, Any]:
    return {"org": org, **named}
