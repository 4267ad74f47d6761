"""What is kept where the tests of searches look, and how do they look?"""

from collections.abc import Sequence

from service.application.search_ports import By, FoundPlan, FoundScreen, Look, PlanInList
from tests.storage.made import HOSPITAL, House

Found = Sequence[FoundScreen | PlanInList]


async def ward(house: House) -> list[str]:
    """Four screens of two people at three times, one of them corrected; their patients."""
    first = house.new("A", 0)
    await house.store.keep(first)
    for value, at in (("A", 5), ("B", 5), ("B", 2)):
        house.clock.go_on(seconds=1)
        await house.store.keep(house.new(value, at))
    house.clock.go_on(seconds=1)
    await house.store.correct(house.correction(first, 1, 9))
    found = [await house.store.find_patient(house.by.org, HOSPITAL, one) for one in "AB"]
    return [one.id for one in found if one is not None]


async def plans_of(house: House, asked: Look) -> list[FoundPlan]:
    found = await house.store.find_plans(house.by.org, asked)
    return [one for one in found if isinstance(one, FoundPlan)]


def look(by: By, *, down: bool, limit: int = 50, **more: object) -> Look:
    return Look(by=by, newest_first=down, limit=limit, **more)  # type: ignore[arg-type]


def keys(found: Found) -> list[str]:
    return [one.cursor for one in found]
