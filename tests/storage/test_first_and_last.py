"""Does a look at whether the record can be written leave nothing, and is its last time found?"""

from datetime import UTC, datetime

from service.storage.first_and_last import last_recorded
from service.storage.times import to_micros
from tests.storage.made import House, rows_of


async def test_a_touch_leaves_nothing(house: House) -> None:
    await house.store.check_writable()
    assert rows_of(house.path, "idempotency") == 0


async def test_the_last_time_is_that_of_the_newest_row(house: House) -> None:
    assert last_recorded(house.path) <= to_micros(datetime(2026, 3, 4, 7, 16, tzinfo=UTC))
    house.clock.go_on(hours=5)
    kept = await house.store.keep(house.new())
    assert last_recorded(house.path) == to_micros(kept.record.recorded_at)
