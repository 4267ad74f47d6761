"""Does a caller hear of its own write alone, and of success only when it is on disk?"""

import asyncio
import resource
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.problem import Conflict, Unavailable
from service.storage import engine, writer
from service.storage.batch import Batch
from service.storage.verify import verify_audit
from tests.storage.made import ON_A_FILE, House, rows_of

TABLES = ("screen", "plan", "plan_event", "patient", "patient_id", "audit", "idempotency")


def counts(path: Path) -> list[int]:
    return [rows_of(path, table) for table in TABLES]


async def test_writes_that_wait_share_one_transaction(house: House) -> None:
    kept = await asyncio.gather(*(house.store.keep(house.new(f"H-{n}")) for n in range(20)))
    assert len({one.record.recorded_at for one in kept}) <= 2


async def test_an_answered_write_is_seen_by_any_other_connection(house: House) -> None:
    for n in range(3):
        await house.store.keep(house.new(f"H-{n}"))
        assert rows_of(house.path, "screen") == n + 1


@pytest.mark.parametrize("same", ["screen_id", "plan"])
async def test_a_write_that_cannot_stand_fails_alone(house: House, same: str) -> None:
    first = house.new("H-1")
    second = house.new("H-2")
    if same == "screen_id":
        second = replace(second, screen_id=first.screen_id)
    else:
        plan = replace(second.assessment.plan, id=first.assessment.plan.id)
        second = replace(second, assessment=replace(second.assessment, plan=plan))
    news = [first, second, house.new("H-3")]
    kept = await asyncio.gather(*map(house.store.keep, news), return_exceptions=True)
    assert isinstance(kept[1], Conflict)
    assert not isinstance(kept[0], BaseException)
    assert not isinstance(kept[2], BaseException)
    assert rows_of(house.path, "screen") == rows_of(house.path, "patient") == 2
    await house.store.keep(house.new("H-4"))
    assert verify_audit(house.path).sound


async def test_a_mistake_in_one_write_does_not_stop_the_writer(house: House) -> None:
    def mistaken(_: Batch) -> Callable[[], None]:
        raise ZeroDivisionError

    def late(_: Batch) -> Callable[[], float]:
        return lambda: 1 / 0

    done = await asyncio.gather(
        house.store._writer.submit(mistaken),
        house.store._writer.submit(late),
        house.store.keep(house.new()),
        return_exceptions=True,
    )
    assert isinstance(done[0], ZeroDivisionError)
    assert isinstance(done[1], ZeroDivisionError)
    assert not isinstance(done[2], BaseException)


async def test_a_write_stands_though_its_caller_went_away(house: House) -> None:
    new = house.new()
    task = asyncio.create_task(house.store.keep(new))
    await asyncio.sleep(0)
    task.cancel()
    await house.store.keep(house.new(at=1))
    assert task.cancelled()
    assert await house.store.screen(house.by.org, new.screen_id) is not None


async def test_a_full_queue_turns_callers_away_and_drains(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(writer, "_LONGEST_QUEUE", 3)
    news = [house.new(f"H-{n}") for n in range(9)]
    kept = await asyncio.gather(*map(house.store.keep, news), return_exceptions=True)
    turned = [one for one in kept if isinstance(one, Unavailable)]
    assert len(turned) == 6
    assert {one.retry_after_s for one in turned} == {1}
    assert rows_of(house.path, "screen") == 3
    await house.store.keep(house.new())


@ON_A_FILE
async def test_a_full_database_refuses_all_and_keeps_nothing_of_it(house: House) -> None:
    await house.store.keep(house.new("H-0"))
    before = counts(house.file)
    connection = house.store._writer._engine.connection
    pages = connection.execute("PRAGMA page_count").fetchone()[0]
    connection.execute(f"PRAGMA max_page_count = {pages}")
    news = [house.new(f"H-{n}") for n in range(40)]
    kept = await asyncio.gather(*map(house.store.keep, news), return_exceptions=True)
    assert all(isinstance(one, Unavailable) and one.retry_after_s > 0 for one in kept)
    assert counts(house.file) == before
    connection.execute("PRAGMA max_page_count = 1000000")
    await asyncio.gather(*map(house.store.keep, news))
    assert rows_of(house.path, "screen") == 41
    assert verify_audit(house.path).sound


@contextmanager
def no_file_grows_beyond(size: int) -> Iterator[None]:
    """The operating system refuses to write past ``size``, as a full disk does."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@ON_A_FILE
async def test_a_full_disk_refuses_all_and_the_service_recovers(house: House) -> None:
    await house.store.keep(house.new("H-0"))
    before = counts(house.file)
    log = house.file.with_name(house.file.name + "-wal")
    with no_file_grows_beyond(log.stat().st_size):
        with pytest.raises(Unavailable):
            await house.store.check_writable()
        kept = await asyncio.gather(
            *(house.store.keep(house.new(f"H-{n}")) for n in range(9)), return_exceptions=True
        )
        entry = house.new()
        assert await house.store.screen(house.by.org, entry.screen_id) is None
    assert all(isinstance(one, Unavailable) for one in kept)
    assert counts(house.file) == before
    await house.store.check_writable()
    await house.store.keep(house.new("H-1"))
    report = verify_audit(house.path)
    assert report.sound
    assert rows_of(house.path, "screen") == 2


@ON_A_FILE
async def test_a_database_locked_for_long_refuses_and_for_a_moment_waits(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "BUSY_WAIT_MS", 100)
    with closing(sqlite3.connect(house.file, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Unavailable):
            await house.store.keep(house.new())
        monkeypatch.setattr(engine, "BUSY_WAIT_MS", 5000)
        waiting = asyncio.create_task(house.store.keep(house.new()))
        await asyncio.sleep(0.05)
        assert not waiting.done()
        other.execute("ROLLBACK")
        assert (await waiting).plan.is_current
    assert rows_of(house.path, "screen") == 1


@ON_A_FILE
async def test_the_loop_goes_on_while_the_database_is_locked(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine, "BUSY_WAIT_MS", 400)
    with closing(sqlite3.connect(house.file, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        waiting = asyncio.create_task(house.store.keep(house.new()))
        turns = 0
        while not waiting.done():
            await asyncio.sleep(0.01)
            turns += 1
        assert isinstance(waiting.exception(), Unavailable)
    assert turns >= 5


async def test_nothing_is_taken_before_the_start_and_after_the_end(house: House) -> None:
    await house.store.close()
    with pytest.raises(Unavailable):
        await house.store.keep(house.new())


class SlowDisk:
    """A connection whose commits take their time; everything else is as it was."""

    def __init__(self, connection: sqlite3.Connection, seconds: float) -> None:
        self._connection = connection
        self._seconds = seconds
        self.commits = 0

    def execute(self, statement: str, *values: Any) -> sqlite3.Cursor:
        if statement == "COMMIT":
            self.commits += 1
            time.sleep(self._seconds)
        return self._connection.execute(statement, *values)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._connection, name)


async def test_on_a_slow_disk_those_who_wait_share_a_commit_and_the_loop_goes_on(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = SlowDisk(house.store._writer._engine.connection, 0.2)
    monkeypatch.setattr(house.store._writer._engine, "connection", slow)
    waiting = [asyncio.create_task(house.store.keep(house.new(f"H-{n}"))) for n in range(60)]
    turns = 0
    while not all(each.done() for each in waiting):
        await asyncio.sleep(0.005)
        turns += 1
    kept = await asyncio.gather(*waiting)
    assert all(each.plan.is_current for each in kept)
    assert slow.commits <= 3
    assert turns >= 10
    assert rows_of(house.path, "screen") == 60


@pytest.mark.parametrize("hours", [-5, 5])
async def test_a_clock_that_jumps_neither_dates_back_nor_breaks_the_trail(
    house: House, hours: int
) -> None:
    first = await house.store.keep(house.new("H-1", 1))
    house.clock.go_on(hours=hours)
    second = await house.store.keep(house.new("H-2", 1))
    house.clock.go_on(hours=-hours)
    third = await house.store.keep(house.new("H-3", 1))
    told = [each.record for each in (first, second, third)]
    assert [each.recorded_at for each in told] == sorted({each.recorded_at for each in told})
    assert [each.id for each in told] == sorted({each.id for each in told})
    assert verify_audit(house.path).sound
