"""What does a process do that keeps screens as fast as it can and tells which were answered?

``python -m tests.system.writing FILE``, or ``WRITE READ``, the addresses of a server: opens the
store, keeps screens from many callers at once, and prints the id of each one after its answer,
until it is killed.
"""

import asyncio
import sys
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from service.application.ports import Once
from service.domain.record import Principal
from service.storage.ids import TimeOrderedIds
from service.storage.organisations import list_organisations
from service.storage.place import Place, Server
from service.storage.store import open_store
from tests.storage.made import House, SteppingClock

CALLERS = 16
PATIENTS = 5


def words_of(place: Place) -> list[str]:
    """How the place is said on the command line."""
    return [place.write, place.read or place.write] if isinstance(place, Server) else [str(place)]


def place_of(words: list[str]) -> Place:
    return Server(words[0], words[1]) if len(words) > 1 else Path(words[0])


async def write(path: Place) -> None:
    new_id = TimeOrderedIds(lambda: datetime.now(UTC))
    store = open_store(path, lambda: datetime.now(UTC), new_id)
    await store.start()
    by = Principal(list_organisations(path)[0].org, "cred-1", "ward system")
    house = House(store, path, SteppingClock(), new_id, by)
    numbers = count()
    await asyncio.gather(*(call(house, numbers) for _ in range(CALLERS)))


async def call(house: House, numbers: "count[int]") -> None:
    for number in numbers:
        once = Once("POST /v1/screens", house.new_id(), "digest")
        kept = await house.store.keep(house.new(f"H-{number % PATIENTS}", number, once))
        if number % 7 == 0:
            await house.store.withdraw(house.withdrawal(kept.record.id, 1))
            sys.stdout.write(f"{kept.record.id} 2\n")
        else:
            sys.stdout.write(f"{kept.record.id} 1\n")
        sys.stdout.flush()


if __name__ == "__main__":
    asyncio.run(write(place_of(sys.argv[1:])))
