"""Are several changes done together, or none of them?"""

import pytest

from service.application.ports import Once, Undone
from service.application.record_screens import (
    Correcting,
    Recording,
    Withdrawing,
    record_screens,
)
from service.domain.plan import PlanState
from service.domain.problem import Conflict, NotFound, Refused, StaleVersion, Unavailable
from service.domain.record import ScreenStatus
from tests.application.made import NOWHERE, House, later, of

KEY = Once("fhir.transaction", "k-1#0", "digest-1")


async def test_all_changes_are_answered_in_their_order(house: House) -> None:
    first, second = await house.recorded(later(1)), await house.recorded(of("H-2"))
    done = await record_screens(
        house.service,
        house.call,
        (
            Recording(of("H-3")),
            Correcting(first.screen.id, 1, "Mistyped.", later(2)),
            Withdrawing(second.screen.id, None, "Wrong bed."),
        ),
    )
    statuses = [one.answer.screen.status for one in done]
    assert statuses == [ScreenStatus.FINAL, ScreenStatus.AMENDED, ScreenStatus.WITHDRAWN]
    assert [one.answer.screen.id for one in done][1:] == [first.screen.id, second.screen.id]
    assert not any(one.replayed for one in done)


async def test_one_plan_of_a_person_is_answered_as_superseded_by_the_other(house: House) -> None:
    earlier, last = await record_screens(
        house.service, house.call, (Recording(later(1)), Recording(later(5)))
    )
    assert earlier.answer.plan.state == PlanState.SUPERSEDED
    assert last.answer.plan.state == PlanState.CURRENT
    assert last.answer.plan.replaces == earlier.answer.plan.id


async def test_the_problems_of_all_are_told_before_anything_is_kept(house: House) -> None:
    ahead = later(60 * 24)
    with pytest.raises(Undone) as undone:
        await record_screens(
            house.service,
            house.call,
            (Recording(ahead), Recording(later(1)), Correcting(NOWHERE, 1, "x", later(2))),
        )
    kinds = {index: type(problem) for index, problem in undone.value.problems.items()}
    assert kinds == {0: Refused, 2: NotFound}
    assert house.kept_nothing()


async def test_what_the_record_turns_away_undoes_the_others(house: House) -> None:
    kept = await house.recorded(later(1, source_id="S-1"))
    with pytest.raises(Undone) as undone:
        await record_screens(
            house.service,
            house.call,
            (Recording(of("H-2")), Recording(later(5, source_id="S-1"))),
        )
    assert isinstance(undone.value.problems[1], Conflict)
    assert [screen for _, screen in house.records.screens] == [kept.screen.id]


async def test_a_stale_version_undoes_the_others(house: House) -> None:
    kept = await house.recorded(later(1))
    with pytest.raises(Undone) as undone:
        await record_screens(
            house.service,
            house.call,
            (Recording(of("H-2")), Withdrawing(kept.screen.id, 7, "Wrong bed.")),
        )
    assert isinstance(undone.value.problems[1], StaleVersion)
    assert len(house.records.screens) == 1


async def test_a_key_that_came_before_is_answered_as_before(house: House) -> None:
    once = (Recording(later(1), KEY),)
    first = await record_screens(house.service, house.call, once)
    again = await record_screens(house.service, house.call, once)
    assert again[0].replayed
    assert again[0].answer == first[0].answer


async def test_a_busy_record_says_so(house: House) -> None:
    house.records.busy = True
    with pytest.raises((Unavailable, Undone)) as told:
        await record_screens(house.service, house.call, (Recording(later(1)),))
    assert house.kept_nothing()
    assert isinstance(getattr(told.value, "problems", {0: told.value})[0], Unavailable)
