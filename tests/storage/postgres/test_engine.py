"""Do writes on a server keep their word beside other processes, and when the server goes away?"""

import asyncio
import threading
from typing import Any

import psycopg
import pytest

from service.application.ports import Once
from service.domain.problem import Unavailable
from service.storage.ids import TimeOrderedIds
from service.storage.place import Server
from service.storage.postgres import engine as engines
from service.storage.postgres.connection import Connection, connected
from service.storage.postgres.engine import LOCKS, OutcomeUnknown, PostgresEngine, lock
from service.storage.store import open_store
from service.storage.verify import verify_audit
from tests.storage.made import House, rows_of, sql_of

SEND_AWAY = """
SELECT pg_terminate_backend(pid) FROM pg_stat_activity
WHERE datname = current_database() AND pid <> pg_backend_pid()"""


async def beside(house: House) -> House:
    """A second store on the same record, as another process has one."""
    new_id = TimeOrderedIds(house.clock)
    store = open_store(house.path, house.clock, new_id)
    await store.start()
    return House(store, house.path, house.clock, new_id, house.by)


async def test_two_stores_write_one_whole_trail_and_one_pointer(house: House) -> None:
    other = await beside(house)
    turns = [(house, other)[number % 2].new(f"H-{number % 3}", number) for number in range(60)]
    kept = await asyncio.gather(
        *((house, other)[number % 2].store.keep(new) for number, new in enumerate(turns))
    )
    await other.store.close()
    assert len({each.record.id for each in kept}) == 60
    assert verify_audit(house.path).sound
    created = "SELECT count(*), count(DISTINCT rev) FROM plan_event WHERE patient = ?"
    for number in range(3):
        latest = max(turns[number::3], key=lambda new: new.content.observed_at)
        patient = kept[number].record.patient_id
        current = await house.store.current_plan(house.by.org, patient)
        assert current is not None and current.plan.screen_id == latest.screen_id
        ((events, revisions),) = sql_of(house.path, created, patient)
        assert events == revisions


async def test_rows_of_two_stores_are_dated_in_the_order_they_are_seen(house: House) -> None:
    other = await beside(house)
    both = (house, other)
    kept = [await both[n % 2].store.keep(both[n % 2].new(f"H-{n}", n)) for n in range(6)]
    await other.store.close()
    dated = [each.record.recorded_at for each in kept]
    assert dated == sorted(set(dated))


async def test_one_key_in_two_stores_makes_one_record(house: House) -> None:
    other = await beside(house)
    once = Once("POST /v1/screens", "key-1", "digest")
    kept = await asyncio.gather(
        *(each.store.keep(each.new("H-1", 1, once)) for each in (house, other) * 4)
    )
    await other.store.close()
    assert len({each.record.id for each in kept}) == 1
    assert sorted(each.replayed for each in kept) == [False] + [True] * 7
    assert rows_of(house.path, "screen") == 1


async def test_a_server_that_went_away_is_found_again(house: House) -> None:
    await house.store.keep(house.new("H-1", 1))
    sql_of(house.path, SEND_AWAY)
    told = await asyncio.gather(
        *(house.store.keep(house.new(f"H-{n}", 1)) for n in range(3)), return_exceptions=True
    )
    assert all(isinstance(each, Unavailable) for each in told if isinstance(each, BaseException))
    again = await house.store.keep(house.new("H-9", 1))
    assert again.plan.is_current
    assert await house.store.screen(house.by.org, again.record.id) is not None
    assert verify_audit(house.path).sound


class Torn(Connection):
    """Loses its connection when it commits: before the server hears of it, or after."""

    def __init__(self, raw: Any, *, heard: bool) -> None:
        super().__init__(raw)
        self._heard = heard

    def execute(self, statement: str, values: Any = None) -> Any:
        if statement != "COMMIT":
            return super().execute(statement, values)
        if self._heard:
            super().execute(statement)
        self.raw.close()
        raise psycopg.OperationalError("the connection is lost")


@pytest.mark.parametrize("heard", [True, False])
async def test_an_answer_lost_in_the_commit_is_asked_for(house: House, heard: bool) -> None:  # noqa: FBT001
    await house.store._upkeep.stop()  # whose writes would be torn instead
    writing: Any = house.store._writer._engine
    writing.connection = Torn(writing.connection.raw, heard=heard)
    new = house.new("H-1", 1)
    if heard:
        assert (await house.store.keep(new)).plan.is_current
    else:
        with pytest.raises(Unavailable):
            await house.store.keep(new)
    assert rows_of(house.path, "screen") == int(heard)
    assert (await house.store.keep(house.new("H-2", 1))).plan.is_current
    assert verify_audit(house.path).sound


def test_what_nobody_can_say_is_never_answered_as_kept(
    server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    engine = PostgresEngine(server.write)
    engine.begin(None)
    engine.connection = Torn(engine.connection.raw, heard=False)

    def gone(_address: str) -> Any:
        raise psycopg.OperationalError("nobody there")

    monkeypatch.setattr(engines, "connected", gone)
    with pytest.raises(OutcomeUnknown) as raised:
        engine.commit()
    assert engine.is_of_the_machine(raised.value)


def test_a_standby_that_did_not_answer_is_a_failure(server: Server) -> None:
    engine = PostgresEngine(server.write)
    engine.begin(None)
    engine.connection.execute(
        "DO $$ BEGIN"
        " RAISE WARNING 'canceling wait for synchronous replication due to user request';"
        " END $$"
    )
    with pytest.raises(engines.NotReplicated) as raised:
        engine.commit()
    assert engine.is_of_the_machine(raised.value)
    engine.close()


def _waits(server: Server, held: set[str] | None, wanted: set[str] | None) -> bool:
    """Whether who wants the second has to wait for who holds the first."""
    one, two = Connection(connected(server.write)), Connection(connected(server.write))
    try:
        one.execute("BEGIN")
        lock(one, held)
        two.execute("BEGIN")
        two.execute("SET LOCAL lock_timeout = '200ms'")
        try:
            lock(two, wanted)
        except psycopg.errors.LockNotAvailable:
            return True
        return False
    finally:
        one.close()
        two.close()


def test_an_organisation_is_written_by_one_at_a_time_and_others_beside_it(server: Server) -> None:
    assert _waits(server, {"a"}, {"a"})
    assert not _waits(server, {"a"}, {"b"})
    assert _waits(server, {"a", "b"}, {"b", "c"})
    assert _waits(server, {"a"}, None)
    assert _waits(server, None, {"a"})


def test_locks_taken_in_whatever_order_they_are_named_never_cross(server: Server) -> None:
    names = [f"o-{number}" for number in range(12)]
    failed: list[BaseException] = []

    def work(mine: list[str]) -> None:
        connection = Connection(connected(server.write))
        try:
            for _ in range(20):
                connection.execute("BEGIN")
                lock(connection, mine)
                connection.execute("COMMIT")
        except psycopg.Error as error:
            failed.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=work, args=(names[:: (-1) ** n],)) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    held = sql_of(server, "SELECT count(*) FROM pg_locks WHERE classid = ?", LOCKS)
    assert held == [(0,)]
