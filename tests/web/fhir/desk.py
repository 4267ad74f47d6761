"""How does a test call what the handlers call, with the house and the caller they would have?"""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import timedelta, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo

from msgspec import Struct

from service.application.service import Call
from service.domain.record import Principal
from service.domain.scope import EVERYTHING, granted
from service.web.house import House
from tests.web.world import World, world


class Desk(Struct):
    """``call``: of the organisation that ``running.client`` belongs to."""

    running: World
    house: House
    call: Call
    zone: tzinfo = ZoneInfo("Europe/Dublin")
    minute: timedelta = timedelta(minutes=1)


@asynccontextmanager
async def desk_on(folder: Path) -> AsyncIterator[Desk]:
    seen: list[tuple[House, str]] = []

    def look(house: House, mine: str, _other: str) -> House:
        seen.append((house, mine))
        return house

    async with world(folder, change=look) as running:
        house, org = seen[0]
        principal = Principal(org, "test", "test", granted(EVERYTHING))
        yield Desk(running, house, Call(principal, "request"))
