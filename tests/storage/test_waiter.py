"""Does whoever waits hear once, and whoever went away not at all?"""

import asyncio

import pytest

from service.domain.problem import Conflict
from service.storage.waiter import Waiting


def waiting() -> Waiting:
    return Waiting(lambda _: str, "org-1", asyncio.get_running_loop().create_future())


async def test_the_answer_is_made_when_it_is_on_disk_and_its_failure_is_the_callers() -> None:
    good, bad = waiting(), waiting()

    def refuse() -> None:
        raise Conflict("It stands in the way.")

    good.finish(lambda: 7)
    bad.finish(refuse)
    assert await good.outcome == 7
    with pytest.raises(Conflict):
        await bad.outcome


async def test_who_went_away_is_told_nothing() -> None:
    gone = waiting()
    gone.outcome.cancel()
    made: list[int] = []
    gone.finish(lambda: made.append(1))
    gone.fail(Conflict("Too late."))
    assert (made, gone.outcome.cancelled()) == ([], True)


async def test_a_failure_is_told() -> None:
    one = waiting()
    one.fail(Conflict("Nothing was kept."))
    with pytest.raises(Conflict):
        await one.outcome
