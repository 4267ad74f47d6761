"""Does the store look after itself from its start to its end?"""

import asyncio

from tests.storage.made import House, open_house, rows_of, sql_of


async def test_a_plan_that_ran_out_while_nobody_served_lapses_at_the_start(house: House) -> None:
    await house.store.keep(house.new())
    await house.store.close()
    house.clock.go_on(hours=30)
    again = await open_house(house.path, house.clock)
    try:
        for _ in range(500):
            if sql_of(house.path, "SELECT 1 FROM plan_event WHERE kind = 'lapsed'"):
                break
            await asyncio.sleep(0.01)
        assert sql_of(house.path, "SELECT 1 FROM plan_event WHERE kind = 'lapsed'") == [(1,)]
    finally:
        await again.store.close()


async def test_what_was_written_last_is_sealed_at_the_end(house: House) -> None:
    await house.store.keep(house.new())
    before = rows_of(house.path, "audit_seal")
    await house.store.close()
    assert rows_of(house.path, "audit_seal") == before + 1
    running = {task.get_name() for task in asyncio.all_tasks()}
    assert not running & {"seals", "sweeper", "writer"}
