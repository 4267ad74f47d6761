"""Do reads go on beside writes, see one state, and find the server again?"""

import asyncio

import pytest

from service.domain.problem import Unavailable
from service.storage import statements_sqlite as sql
from service.storage.place import Server
from service.storage.postgres.reader import PostgresReader
from tests.storage.made import House, sql_of
from tests.storage.postgres.test_engine import SEND_AWAY


async def test_a_read_after_the_server_went_away_is_answered(house: House) -> None:
    kept = await house.store.keep(house.new("H-1", 1))
    assert await house.store.screen(house.by.org, kept.record.id) is not None
    sql_of(house.path, SEND_AWAY)
    assert await house.store.screen(house.by.org, kept.record.id) is not None


async def test_many_read_at_once_while_others_write(house: House) -> None:
    kept = await house.store.keep(house.new("H-1", 0))
    patient = kept.record.patient_id
    writes = [house.store.keep(house.new("H-1", at)) for at in range(1, 20)]
    reads = [house.store.current_plan(house.by.org, patient) for _ in range(60)]
    told = await asyncio.gather(*writes, *reads)
    assert all(each is not None and each.plan for each in told)


async def test_a_read_sees_one_state_from_its_first_row_to_its_last(house: House) -> None:
    kept = await house.store.keep(house.new("H-1", 0))
    assert isinstance(house.path, Server)
    reader = PostgresReader(house.path.read or house.path.write)
    named = {"org": house.by.org, "id": kept.record.patient_id}
    revision = "UPDATE patient SET rev = rev + 1"

    def twice(connection: object) -> tuple[object, object]:
        first = connection.execute(sql.PATIENT, named).fetchone()  # type: ignore[attr-defined]
        sql_of(house.path, revision)
        return first, connection.execute(sql.PATIENT, named).fetchone()  # type: ignore[attr-defined]

    first, second = await reader.one(twice)
    assert first == second
    reader.close()


async def test_no_server_is_unavailable_not_an_accident() -> None:
    reader = PostgresReader("host=/nowhere dbname=nothing")
    with pytest.raises(Unavailable):
        await reader.one(str)
    reader.close()
