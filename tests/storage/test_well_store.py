"""Does the store say truly whether it can be written and audited, and what waits in it?"""

from datetime import timedelta

import pytest

from service.domain.problem import Unavailable
from tests.storage.made import MORNING, ON_A_FILE, House, rows_of, sql_of

_WAITS = "INSERT INTO outbox VALUES (?, 'o', 'p', 1, 't', 'r', 0, 0, ?)"


async def test_the_checks_leave_nothing_behind(house: House) -> None:
    before = rows_of(house.path, "audit")
    await house.store.check_writable()
    await house.store.check_audit()
    assert rows_of(house.path, "audit") == before
    assert rows_of(house.path, "idempotency") == 0
    await house.store.keep(house.new())
    assert rows_of(house.path, "audit") == before + 1


@ON_A_FILE
async def test_an_audit_that_cannot_be_written_is_found_though_the_record_can(
    house: House,
) -> None:
    sql_of(
        house.path,
        "CREATE TRIGGER torn BEFORE INSERT ON audit BEGIN SELECT RAISE(ABORT, 'torn'); END",
    )
    await house.store.check_writable()
    with pytest.raises(Exception, match=r"nothing was kept"):
        await house.store.check_audit()
    sql_of(house.path, "DROP TRIGGER torn")
    await house.store.check_audit()


async def test_a_closed_store_cannot_be_written(house: House) -> None:
    await house.store.close()
    with pytest.raises(Unavailable):
        await house.store.check_audit()


async def test_what_waits_is_counted_and_dated_by_its_oldest_id(house: House) -> None:
    assert await house.store.outbox_waiting() == (0, None)
    first = house.new_id()
    house.clock.go_on(hours=1)
    for entry, done in ((house.new_id(), None), (first, None), (house.new_id(), 5)):
        sql_of(house.path, _WAITS, entry, done)
    depth, oldest = await house.store.outbox_waiting()
    assert depth == 2
    assert oldest is not None
    assert abs(oldest - MORNING) < timedelta(seconds=1)
    assert house.store.queued == 0
