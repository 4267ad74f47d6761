"""Is the trail read while the service writes to it?"""

import asyncio

from service.application.ports import AuditEntry
from service.application.trail_ports import TrailLook
from tests.storage.made import House


async def test_readings_and_writings_do_not_wait_for_each_other(house: House) -> None:
    look = TrailLook(newest_first=True, limit=5, wanted=lambda _: True)

    async def write(n: int) -> None:
        await house.store.audit(AuditEntry("plan.read", house.by, f"r-{n}", "ok"))

    org = house.by.org
    read = [house.store.trail_stretch(org, look) for _ in range(5)]
    await asyncio.gather(*map(write, range(20)), *read)
    found = await house.store.trail_stretch(org, look)
    assert len(found.found) == 5
    assert await house.store.trail_entry(org, 1, 20) is not None
    assert await house.store.same_patient(org, "nobody") == ("nobody",)
