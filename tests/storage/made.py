"""Which screens, assessments and writes do the storage tests work with?"""

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import cache
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import psycopg
import pytest
from msgspec import Struct

from service.application.ports import Assessment, Correction, NewScreen, Once, Withdrawal
from service.domain.axis import Axis
from service.domain.orders import Orders
from service.domain.plan import Plan, PlanState, RuleBookRef
from service.domain.profile import AxisGrade, Profile
from service.domain.readiness import Readiness
from service.domain.record import Principal
from service.domain.screen import Screen
from service.domain.stages import Stages
from service.domain.subject import Subject
from service.domain.value import Identifier
from service.storage.ids import TimeOrderedIds
from service.storage.migrate import migrate
from service.storage.organisations import create_organisation
from service.storage.place import Place, Server
from service.storage.store import Store, open_store

MORNING = datetime(2026, 3, 4, 7, 15, tzinfo=UTC)
HOSPITAL = "urn:oid:2.999.7"
BOOK = RuleBookRef("1", "ab" * 32)


ON_A_FILE = pytest.mark.parametrize("place", ["sqlite"], indirect=True)
"""For what only a file can be: looked into, filled, locked. A server has tests of its own."""


class SteppingClock:
    """A clock that stands still until it is told to go on."""

    def __init__(self, now: datetime = MORNING) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now

    def go_on(self, **by: float) -> None:
        self.now += timedelta(**by)


class House(Struct):
    """One open store with one organisation and a caller in it."""

    store: Store
    path: Place
    clock: SteppingClock
    new_id: TimeOrderedIds
    by: Principal
    requests: Iterator[int] = count()

    @property
    def file(self) -> Path:
        """Where the record is a file, for what only a file can be."""
        assert isinstance(self.path, Path)
        return self.path

    def new(
        self,
        value: str = "H-1007",
        at: int = 0,
        once: Once | None = None,
        source_id: str | None = None,
        more: tuple[Identifier, ...] = (),
    ) -> NewScreen:
        """A screen of the patient ``value``, observed ``at`` minutes after the morning."""
        content = screen(value, at, source_id, more)
        screen_id = self.new_id()
        made = assessment(self.new_id(), screen_id, 1, content)
        return NewScreen(self.by, self.request(), screen_id, content, made, once)

    def correction(self, before: NewScreen, version: int, at: int) -> Correction:
        """The same screen, observed at another minute."""
        content = screen(before.content.patient.identifier.value, at, before.content.source_id)
        made = assessment(self.new_id(), before.screen_id, version + 1, content)
        return Correction(
            self.by, self.request(), before.screen_id, version, "wrong hour", content, made
        )

    def withdrawal(self, screen_id: str, version: int | None = None) -> Withdrawal:
        return Withdrawal(self.by, self.request(), screen_id, version, "wrong patient")

    def request(self) -> str:
        return f"request-{next(self.requests)}"

    async def current(self, value: str = "H-1007") -> str | None:
        """The current plan of a patient."""
        found = await self.store.find_patient(self.by.org, HOSPITAL, value)
        assert found is not None
        return found.current_plan


@cache
def _empty_record() -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "record.db"
        migrate(path)
        with closing(sqlite3.connect(path)) as connection:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        return path.read_bytes()


def empty_record(path: Path) -> Path:
    """A migrated database with nothing in it; migrated once, then copied."""
    if not path.exists():
        path.write_bytes(_empty_record())
    return path


async def open_house(path: Place, clock: SteppingClock | None = None) -> House:
    """A started store at a new or an old place, with an organisation of its own."""
    clock = clock or SteppingClock()
    new_id = TimeOrderedIds(clock)
    if isinstance(path, Path):
        empty_record(path)
    org = create_organisation(path, clock, "Harbour House", "Europe/Dublin").org
    store = open_store(path, clock, new_id)
    await store.start()
    return House(store, path, clock, new_id, Principal(org, "cred-1", "ward system"))


def screen(
    value: str, at: int = 0, source_id: str | None = None, more: tuple[Identifier, ...] = ()
) -> Screen:
    subject = Subject(
        identifier=Identifier(system=HOSPITAL, value=value),
        age_years=77,
        mass_kg=Decimal("71.50"),
        more_identifiers=list(more),
    )
    return Screen(
        patient=subject,
        observed_at=MORNING + timedelta(minutes=at),
        orders=Orders(precautions=[]),
        readiness=Readiness(),
        stages=Stages(),
        source_id=source_id,
    )


def assessment(plan_id: str, screen_id: str, version: int, content: Screen) -> Assessment:
    """What the rules might have made of a screen; storage does not look inside."""
    profile = Profile({axis: AxisGrade("unknown") for axis in Axis}, {}, {})
    plan = Plan(
        id=plan_id,
        version=1,
        state=PlanState.CURRENT,
        patient_id="",
        screen_id=screen_id,
        screen_version=version,
        valid_from=content.observed_at,
        valid_until=content.observed_at + timedelta(hours=24),
        rescreen_due=content.observed_at + timedelta(hours=24),
        rescreen_when=(),
        goals=(),
        exercise=None,
        conditions=(),
        notices=(),
        moves=(),
        while_lapsed=(),
        rule_book=BOOK,
    )
    return Assessment(profile, (), plan, b"\x01\x02")


def rows_of(place: Place, table: str) -> int:
    """How many rows a table has on disk."""
    number: int = sql_of(place, f"SELECT count(*) FROM {table}")[0][0]  # noqa: S608
    return number


def row_of(place: Place, table: str, row_id: str) -> tuple[Any, ...]:
    """One row of a table on disk, by its id."""
    return sql_of(place, f"SELECT * FROM {table} WHERE id = ?", row_id)[0]  # noqa: S608


def _for_a_server(statement: str) -> str:
    """The few words of the tests that the two databases spell differently."""
    statement = re.sub(r"json_extract\((\w+), '\$\.(\w+)'\)", _JSON, statement)
    return re.sub(r"x'(\w+)'", r"'\\x\1'::bytea", statement).replace("?", "%s")


_JSON = r"(convert_from(\1, 'UTF8')::json ->> '\2')"


def sql_of(place: Place, statement: str, *values: Any) -> list[tuple[Any, ...]]:
    """What a statement gives on the record, run and committed beside the store."""
    if isinstance(place, Server):
        with psycopg.connect(place.write) as connection:
            ran = connection.execute(_for_a_server(statement).encode(), values)
            return ran.fetchall() if ran.description else []
    with closing(sqlite3.connect(place)) as file, file:
        return file.execute(statement, values).fetchall()
