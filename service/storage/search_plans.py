"""Which plans does one stretch of a search give, and how much is read of each?"""

import sqlite3
from collections.abc import Set
from datetime import datetime

from msgspec import Struct

from service.application.ports import KeptPlan
from service.application.search_ports import (
    FoundPlan,
    Look,
    PassedPlan,
    PlanInList,
    SeenPlan,
    Sieve,
)
from service.domain.lifecycle import state_of
from service.domain.plan import PlanState
from service.domain.record import PlanEventKind
from service.storage import statements_sqlite as sql
from service.storage.cursor import word_of
from service.storage.kept import kept_plan
from service.storage.reads import read_plan, root_of
from service.storage.rows import PlanEventRow, PlanRow
from service.storage.search_reads import Place, begin_of, places, record_of
from service.storage.times import from_micros


class _Columns(Struct, frozen=True):
    """A plan before anything of it is decoded. ``current``: the plan that its patient's pointer
    names."""

    begin: str
    cursor: str
    row: PlanRow
    events: tuple[PlanEventRow, ...]
    current: str | None

    @property
    def kinds(self) -> Set[PlanEventKind]:
        return {PlanEventKind(event.kind) for event in self.events}

    def state(self, now: datetime) -> PlanState:
        until, is_current = from_micros(self.row.valid_until), self.current == self.row.id
        return state_of(self.kinds, until, is_current=is_current, now=now)


def find_plans(connection: sqlite3.Connection, org: str, look: Look) -> tuple[PlanInList, ...]:
    found: list[PlanInList] = []
    for place in places(connection, org, look, "plan"):
        one = _columns(connection, org, look, place)
        if look.sieve is not None and not _is_wanted(one, look.sieve):
            found.append(PassedPlan(one.begin, one.cursor, one.row.id, from_micros(place.at)))
            continue
        seen = None if look.glance is None else _seen(one, look.glance)
        found.append(seen or _read(connection, org, one))
    return tuple(found)


def plan_and_screen(connection: sqlite3.Connection, org: str, plan: str) -> FoundPlan | None:
    kept = read_plan(connection, org, plan)
    return None if kept is None else _found_plan(connection, org, kept, ("", ""))


def _columns(connection: sqlite3.Connection, org: str, look: Look, place: Place) -> _Columns:
    row = PlanRow(*connection.execute(sql.PLAN, {"org": org, "id": place.id}).fetchone())
    told = connection.execute(sql.EVENTS, {"org": org, "plan": place.id})
    events = tuple([PlanEventRow(*event) for event in told])
    owner = root_of(connection, org, row.patient)
    current = None if owner is None else owner.current_plan
    return _Columns(begin_of(look, place), word_of(*place), row, events, current)


def _is_wanted(one: _Columns, sieve: Sieve) -> bool:
    if sieve.ends_from is not None and from_micros(one.row.valid_until) < sieve.ends_from:
        return False
    return one.state(sieve.now) in sieve.states


def _seen(one: _Columns, now: datetime) -> SeenPlan | None:
    """None where the end of its time is still to be written down, which changes the plan."""
    state = one.state(now)
    lapses = [event.at for event in one.events if event.kind == PlanEventKind.LAPSED]
    if state == PlanState.LAPSED and not lapses:
        return None
    return SeenPlan(
        begin=one.begin,
        cursor=one.cursor,
        id=one.row.id,
        state=state,
        valid_from=from_micros(one.row.valid_from),
        valid_until=from_micros(one.row.valid_until),
        changed_at=from_micros(max(event.at for event in one.events)),
        ended_early=state == PlanState.LAPSED and min(lapses) < one.row.valid_until,
    )


def _read(connection: sqlite3.Connection, org: str, one: _Columns) -> FoundPlan:
    kept = kept_plan(one.row, one.events, one.current)
    return _found_plan(connection, org, kept, (one.begin, one.cursor))


def _found_plan(
    connection: sqlite3.Connection, org: str, kept: KeptPlan, cursors: tuple[str, str]
) -> FoundPlan:
    plan = kept.plan
    record = record_of(connection, org, plan.screen_id, plan.screen_version)
    if record is None:
        raise LookupError("A plan without its screen.")
    return FoundPlan(*cursors, kept, record)
