"""Is the record read without waiting for a write, in one state, and is trouble named?"""

import asyncio
import sqlite3
from concurrent.futures import Future
from contextlib import closing

import pytest

from service.domain.problem import Unavailable
from tests.storage.made import ON_A_FILE, House


@ON_A_FILE
async def test_reads_go_on_while_a_write_is_open(house: House) -> None:
    kept = await house.store.keep(house.new())
    with closing(sqlite3.connect(house.file, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("DELETE FROM screen")
        assert await house.store.screen(house.by.org, kept.record.id) == kept
        page = await house.store.screens_of(house.by.org, kept.record.patient_id, 5, None)
        assert len(page.items) == 1
        other.execute("ROLLBACK")


@ON_A_FILE
async def test_a_read_sees_one_state_from_its_first_row_to_its_last(house: House) -> None:
    first = await house.store.keep(house.new())

    def slow(connection: sqlite3.Connection) -> tuple[int, int]:
        count = "SELECT count(*) FROM screen"
        before = connection.execute(count).fetchone()[0]
        arrived.set_result(None)
        written.result(timeout=10)
        return before, connection.execute(count).fetchone()[0]

    arrived: Future[None] = Future()
    written: Future[None] = Future()
    reading = asyncio.create_task(house.store._reader.page(slow))
    await asyncio.wrap_future(arrived)
    await house.store.keep(house.new(at=1))
    written.set_result(None)
    assert await reading == (1, 1)
    assert first.plan.is_current


@ON_A_FILE
async def test_a_file_that_cannot_be_read_is_unavailable_not_an_accident(house: House) -> None:
    def broken(_: sqlite3.Connection) -> None:
        raise sqlite3.OperationalError

    with pytest.raises(Unavailable):
        await house.store._reader.one(broken)
