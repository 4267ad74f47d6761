"""Which rows make up each thing that is read?"""

import sqlite3
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any, TypeVar

from service.application.ports import KeptPlan, KeptScreen
from service.domain.record import Page, PatientRecord, ScreenRecord, ScreenStatus
from service.domain.score import EarlierScore
from service.domain.value import Identifier
from service.storage import statements_sqlite as sql
from service.storage.cursor import cursor_of
from service.storage.documents import decode_screen
from service.storage.kept import kept_plan, patient_record, screen_record
from service.storage.rows import PatientRow, PlanEventRow, PlanRow, ScreenRow
from service.storage.times import from_micros, to_micros

T = TypeVar("T")
R = TypeVar("R", ScreenRow, PlanRow)

_LAST_SCREENS = 30  # a comparable score further back says little about a change


def _one(connection: sqlite3.Connection, statement: str, **named: Any) -> Any:
    return connection.execute(statement, named).fetchone()


def root_of(connection: sqlite3.Connection, org: str, patient: str) -> PatientRow | None:
    """The patient, or the one it was merged into."""
    found = _one(connection, sql.PATIENT, org=org, id=patient)
    while found is not None and PatientRow(*found).merged_into is not None:
        found = _one(connection, sql.PATIENT, org=org, id=PatientRow(*found).merged_into)
    return None if found is None else PatientRow(*found)


def read_patient(connection: sqlite3.Connection, org: str, patient: str) -> PatientRecord | None:
    found = _one(connection, sql.PATIENT, org=org, id=patient)
    return None if found is None else patient_record(PatientRow(*found))


def find_patient(
    connection: sqlite3.Connection, org: str, system: str, value: str
) -> PatientRecord | None:
    found = _one(connection, sql.PATIENT_ID, org=org, system=system, value=value)
    if found is None:
        return None
    root = root_of(connection, org, found[0])
    return None if root is None else patient_record(root)


def earlier_scores(
    connection: sqlite3.Connection, org: str, identifier: Identifier, before: datetime, but: str
) -> tuple[EarlierScore, ...]:
    """The scores of the person's last screens observed before, newest first; withdrawn ones and
    the screen ``but`` are left out."""
    known = find_patient(connection, org, identifier.system, identifier.value)
    if known is None:
        return ()
    named = {"org": org, "patient": known.id, "limit": _LAST_SCREENS}
    named |= {"after_observed": to_micros(before), "after_id": ""}
    rows = [ScreenRow(*row) for row in connection.execute(sql.SCREENS_OF, named)]
    return tuple(
        EarlierScore(from_micros(row.observed), score)
        for row in rows
        if row.status != ScreenStatus.WITHDRAWN and row.id != but
        for score in decode_screen(row.schema_no, row.body).tests
    )


def screen_of_source(connection: sqlite3.Connection, org: str, source: str) -> KeptScreen | None:
    """The latest version of the screen that the sender knows by ``source``."""
    found = _one(connection, sql.SCREEN_OF_SOURCE, org=org, source_id=source)
    return None if found is None else read_screen(connection, org, ScreenRow(*found).id, None)


def read_screen(
    connection: sqlite3.Connection, org: str, screen: str, version: int | None
) -> KeptScreen | None:
    """The latest version, or the one asked for."""
    if version is None:
        found = _one(connection, sql.SCREEN, org=org, id=screen)
    else:
        found = _one(connection, sql.SCREEN_VERSION, org=org, id=screen, version=version)
    if found is None:
        return None
    row = ScreenRow(*found)
    document = decode_screen(row.schema_no, row.body)
    of_screen = _one(connection, sql.PLAN_OF_SCREEN, org=org, screen=row.id, version=row.version)
    plan = plan_with_events(connection, PlanRow(*of_screen), None)
    return KeptScreen(screen_record(row, document), document.profile, document.tests, plan)


def read_plan(connection: sqlite3.Connection, org: str, plan: str) -> KeptPlan | None:
    found = _one(connection, sql.PLAN, org=org, id=plan)
    return None if found is None else plan_with_events(connection, PlanRow(*found), None)


def current_plan(connection: sqlite3.Connection, org: str, patient: str) -> KeptPlan | None:
    """Pointer and plan in one state: a screen that comes between cannot part them."""
    root = root_of(connection, org, patient)
    if root is None or root.current_plan is None:
        return None
    found = _one(connection, sql.PLAN, org=org, id=root.current_plan)
    return None if found is None else plan_with_events(connection, PlanRow(*found), root)


def plan_with_events(
    connection: sqlite3.Connection, row: PlanRow, root: PatientRow | None
) -> KeptPlan:
    """``root``: the patient that stays after merges, where it is known already."""
    owner = root or root_of(connection, row.org, row.patient)
    told = connection.execute(sql.EVENTS, {"org": row.org, "plan": row.id})
    events = [PlanEventRow(*event) for event in told]
    return kept_plan(row, events, None if owner is None else owner.current_plan)


def screens_of(
    connection: sqlite3.Connection, org: str, patient: str, limit: int, after: tuple[int, str]
) -> Page[ScreenRecord]:
    root = root_of(connection, org, patient)
    if root is None:
        return Page(())
    named = {"org": org, "patient": root.id, "limit": limit + 1}
    named |= {"after_observed": after[0], "after_id": after[1]}
    rows = [ScreenRow(*row) for row in connection.execute(sql.SCREENS_OF, named)]
    return _page(rows, limit, lambda row: row.observed, _record_of)


def screens_since(
    connection: sqlite3.Connection, org: str, limit: int, after: tuple[int, str]
) -> Page[ScreenRecord]:
    named = {"org": org, "limit": limit + 1, "after_recorded": after[0], "after_id": after[1]}
    rows = [ScreenRow(*row) for row in connection.execute(sql.SCREENS_SINCE, named)]
    return _page(rows, limit, lambda row: row.recorded, _record_of)


def plans_of(
    connection: sqlite3.Connection, org: str, patient: str, limit: int, after: tuple[int, str]
) -> Page[KeptPlan]:
    root = root_of(connection, org, patient)
    if root is None:
        return Page(())
    named = {"org": org, "patient": root.id, "limit": limit + 1}
    named |= {"after_valid_from": after[0], "after_id": after[1]}
    rows = [PlanRow(*row) for row in connection.execute(sql.PLANS_OF, named)]
    return _page(
        rows, limit, lambda row: row.valid_from, lambda row: plan_with_events(connection, row, root)
    )


def _record_of(row: ScreenRow) -> ScreenRecord:
    return screen_record(row, decode_screen(row.schema_no, row.body))


def _page(
    rows: Sequence[R], limit: int, value: Callable[[R], int], made: Callable[[R], T]
) -> Page[T]:
    """A row more than asked for was read: whether it is there says whether there is a next page."""
    shown = rows[:limit]
    more = cursor_of(value(shown[-1]), shown[-1].id) if len(rows) > limit and shown else None
    return Page(tuple(made(row) for row in shown), more)
