"""Which rows say where a patient stood after each event, and who is one patient with whom?"""

import sqlite3
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from msgspec.structs import replace

from service.application.ports import Family, Joined, Standing, StandingsAsked, Stood
from service.application.turns import Happened, Turn, moved_on, pointed, turns_of
from service.domain.record import PlanEventKind
from service.storage import statements_sqlite as sql
from service.storage.documents import decode_event, decode_patient, decode_screen
from service.storage.kept import kept_plan, patient_record, plan_events, screen_record
from service.storage.reads import root_of
from service.storage.rows import PatientRow, PlanEventRow, PlanRow, ScreenRow
from service.storage.times import from_micros, to_micros

_EVENTS_READ = 1000
"""How far a patient's events are followed back."""


def read_standings(
    connection: sqlite3.Connection, org: str, patient: str, asked: StandingsAsked
) -> tuple[Standing, ...]:
    """The patient's standings, newest first; empty where the patient is not known."""
    found = connection.execute(sql.PATIENT, {"org": org, "id": patient}).fetchone()
    if found is None:
        return ()
    row = PatientRow(*found)
    turns = list(_turns(connection, row))[::-1]
    look = _Look(connection, row, asked.held)
    record, family = patient_record(row), read_family(connection, org, patient)
    return tuple(
        Standing(
            record,
            turn.rev,
            turn.at,
            look.stood(turn.plan, turn, current=turn.stands),
            tuple(
                look.stood(plan, turn, current=False)
                for plan in _before(turns[place:], asked.earlier)
            ),
            turn.followed_by,
            family,
        )
        for place, turn in enumerate(turns[: asked.limit])
    )


def read_family(connection: sqlite3.Connection, org: str, patient: str) -> Family | None:
    """The records that this one took over, and the one that took it over, each as it was then:
    what became of either later is its own story."""
    found = connection.execute(sql.PATIENT, {"org": org, "id": patient}).fetchone()
    if found is None:
        return None
    row = PatientRow(*found)
    named = {"org": org, "merged_into": row.merged_into or patient}
    told = [PatientRow(*one) for one in connection.execute(sql.JOINED_PATIENTS, named)]
    taken = [one for one in told if _taken_over_by(one) == patient]
    joined = [Joined(one.id, at) for one in taken if (at := _joined_at(one)) is not None]
    joined.sort(key=lambda one: (one.at, one.patient))
    return Family(patient, tuple(joined), _taken_over_by(row), _joined_at(row))


def _taken_over_by(row: PatientRow) -> str | None:
    """Where nobody noted that, the one that stays."""
    return decode_patient(row.schema_no, row.body).merged_to or row.merged_into


def _joined_at(row: PatientRow) -> datetime | None:
    at = decode_patient(row.schema_no, row.body).merged_at
    return None if at is None else from_micros(at)


def _turns(connection: sqlite3.Connection, row: PatientRow) -> tuple[Turn, ...]:
    """In the order they were taken."""
    root = root_of(connection, row.org, row.id) or row
    named = {"org": row.org, "patient": root.id, "member": row.id, "limit": _EVENTS_READ}
    told = connection.execute(sql.EVENTS_OF_PATIENT, named).fetchall()
    turns = turns_of(_happened(PlanEventRow(*event), screen) for *event, screen in told[::-1])
    if row.merged_into is None:
        return pointed(turns, row.current_plan)
    at = _joined_at(row)
    return turns if at is None else moved_on(turns, row.rev, at)


def _happened(event: PlanEventRow, screen: str) -> Happened:
    said = decode_event(event.body)
    return Happened(
        event.rev,
        from_micros(event.at),
        PlanEventKind(event.kind),
        event.plan,
        screen,
        said.by_plan,
        said.replaces,
    )


def _before(turns: list[Turn], count: int) -> Iterator[str]:
    """The plans that stood before that of the first of ``turns``, newest first, each once."""
    seen = {turns[0].plan}
    for turn in turns[1:]:
        if len(seen) > count:
            return
        if turn.plan not in seen:
            seen.add(turn.plan)
            yield turn.plan


class _Look:
    """Reads each plan and screen once, however many turns it has."""

    def __init__(
        self, connection: sqlite3.Connection, patient: PatientRow, held: Stood | None
    ) -> None:
        self._connection = connection
        self._patient = patient
        self._held = held
        self._found: dict[str, tuple[list[PlanEventRow], Stood]] = {}
        self._told: dict[tuple[str, int, bool], Stood] = {}

    def stood(self, plan: str, turn: Turn, *, current: bool) -> Stood:
        """The plan with what had happened to it by ``turn``."""
        events, whole = self._plan(plan)
        until = sum(self._happened_by(event, turn) for event in events)
        key = (plan, until, current)
        if key not in self._told:
            then = replace(whole.plan, events=whole.plan.events[:until], is_current=current)
            self._told[key] = replace(whole, plan=then)
        return self._told[key]

    def _happened_by(self, event: PlanEventRow, turn: Turn) -> bool:
        if event.patient == self._patient.id:
            return event.rev <= turn.rev
        return event.at <= to_micros(turn.at)

    def _plan(self, plan: str) -> tuple[list[PlanEventRow], Stood]:
        """All events of a plan, and the plan with them all."""
        if plan not in self._found:
            told = self._connection.execute(sql.EVENTS, {"org": self._patient.org, "plan": plan})
            events = [PlanEventRow(*event) for event in told]
            self._found[plan] = (events, self._whole(plan, events))
        return self._found[plan]

    def _whole(self, plan: str, events: list[PlanEventRow]) -> Stood:
        held = self._held
        if held is not None and held.plan.plan.id == plan:
            return replace(held, plan=replace(held.plan, events=plan_events(events)))
        named: dict[str, Any] = {"org": self._patient.org, "id": plan}
        row = PlanRow(*self._connection.execute(sql.PLAN, named).fetchone())
        named = {"org": row.org, "id": row.screen, "version": row.screen_version}
        screen = ScreenRow(*self._connection.execute(sql.SCREEN_VERSION, named).fetchone())
        said = decode_screen(screen.schema_no, screen.body)
        kept = kept_plan(row, events, None)
        return Stood(kept, screen_record(screen, said), said.profile, said.tests)
