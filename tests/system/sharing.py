"""What does one of several processes do that write to one record, each its part of the deeds?

``python -m tests.system.sharing DEEDS WRITE READ``: does the deeds of the file, in its order, from
several callers at once, and seals now and then. A deed on a screen that is not there yet waits
until another process has kept it.
"""

import asyncio
import sys
from pathlib import Path

import msgspec
from msgspec import Struct

from service.application.ports import Correction, Once, Withdrawal
from service.domain.problem import Conflict, NotFound, StaleVersion
from service.domain.record import Principal, ScreenStatus
from service.storage.ids import TimeOrderedIds
from service.storage.organisations import list_organisations
from service.storage.place import Place, Server
from service.storage.seal import seal_now
from service.storage.store import open_store
from tests.storage.made import House, SteppingClock, assessment, screen

CALLERS = 4
SEAL_EVERY = 10


class Deed(Struct, frozen=True):
    """``kind``: keep, correct, withdraw. ``at``: minutes after the morning. The screen is named
    by its ``source``, which all processes know it by."""

    kind: str
    patient: str
    source: str
    at: int = 0


async def house_at(place: Place) -> House:
    """An open store on a record that has its organisation; its clock stands still."""
    clock = SteppingClock()
    new_id = TimeOrderedIds(clock)
    store = open_store(place, clock, new_id)
    await store.start()
    by = Principal(list_organisations(place)[0].org, "cred-1", "ward system")
    return House(store, place, clock, new_id, by)


async def do(house: House, deed: Deed) -> bool:
    """Whether it could be done, or never can be; false where its screen is not there yet."""
    if deed.kind == "keep":
        once = Once("POST /v1/screens", f"key-{deed.source}", "digest")
        await house.store.keep(house.new(deed.patient, deed.at, once, deed.source))
        return True
    found = await house.store.screen_of_source(house.by.org, deed.source)
    if found is None:
        return False
    record = found.record
    if deed.kind == "withdraw":
        said = Withdrawal(house.by, house.request(), record.id, None, "wrong patient")
        await house.store.withdraw(said)
        return True
    if record.status is ScreenStatus.WITHDRAWN:
        return True
    content = screen(deed.patient, deed.at, deed.source)
    made = assessment(house.new_id(), record.id, record.version + 1, content)
    correction = Correction(
        house.by, house.request(), record.id, record.version, "wrong hour", content, made
    )
    try:
        await house.store.correct(correction)
    except (StaleVersion, Conflict, NotFound):
        return False  # somebody was quicker: look again
    return True


async def share(deeds: list[Deed], place: Place) -> None:
    house = await house_at(place)
    waiting = list(deeds)
    done = 0

    async def call() -> None:
        nonlocal done
        while waiting:
            deed = waiting.pop(0)
            if not await do(house, deed):
                waiting.append(deed)
                await asyncio.sleep(0.005)
            done += 1
            if done % SEAL_EVERY == 0:
                await seal_now(house.store._writer)

    await asyncio.gather(*(call() for _ in range(CALLERS)))
    await house.store.close()


if __name__ == "__main__":
    given = msgspec.json.decode(Path(sys.argv[1]).read_bytes(), type=list[Deed])
    asyncio.run(share(given, Server(sys.argv[2], sys.argv[3])))
