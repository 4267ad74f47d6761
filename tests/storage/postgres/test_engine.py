"""Do writes on a server keep their word beside other processes, and when the server goes away?"""

import asyncio
import threading

import psycopg
import pytest
from psycopg.conninfo import conninfo_to_dict

from service.application.ports import Once
from service.domain.problem import Unavailable
from service.storage.ids import TimeOrderedIds
from service.storage.place import Server
from service.storage.postgres.connection import Connection, connected
from service.storage.postgres.engine import LOCKS, lock
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
    # nothing had begun, so nobody has to hear of it
    await asyncio.gather(*(house.store.keep(house.new(f"H-{n}", 1)) for n in range(3)))
    again = await house.store.keep(house.new("H-9", 1))
    assert again.plan.is_current
    assert await house.store.screen(house.by.org, again.record.id) is not None
    assert verify_audit(house.path).sound


async def test_a_server_that_takes_no_writes_is_of_the_machine_and_left(house: House) -> None:
    assert isinstance(house.path, Server)
    name = conninfo_to_dict(house.path.write)["dbname"]
    setting = f"ALTER DATABASE {name} SET default_transaction_read_only = "
    sql_of(house.path, setting + "on")
    sql_of(house.path, SEND_AWAY)
    try:
        with pytest.raises(Unavailable):
            await house.store.keep(house.new("H-1", 1))
    finally:
        with connected(house.path.write) as raw:
            raw.execute("SET default_transaction_read_only = off")
            raw.execute((setting + "off").encode())
    # no connection was ended: the writer looked for another by itself
    assert (await house.store.keep(house.new("H-2", 1))).plan.is_current


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
