"""Is a screen that was taken back kept and marked, and the plan before it current again?"""

import pytest

from service.application.read_plan import read_plan
from service.application.withdraw_screen import withdraw_screen
from service.domain.plan import PlanState
from service.domain.problem import NotFound, StaleVersion, Unavailable
from service.domain.record import PlanEventKind, ScreenStatus
from tests.application.made import NOWHERE, WARD, House, later, walked


async def test_a_withdrawn_screen_is_kept_and_its_plan_marked(house: House) -> None:
    before = await house.recorded()
    after = await withdraw_screen(house.service, house.call, before.screen.id, 1, "wrong person")
    assert (after.screen.status, after.screen.version) == (ScreenStatus.WITHDRAWN, 2)
    assert after.screen.content == before.screen.content
    assert (after.plan.id, after.plan.state) == (before.plan.id, PlanState.WITHDRAWN)
    assert house.records.events[WARD.org, before.plan.id][-1].reason == "wrong person"
    patient, screen = before.screen.patient_id, before.screen.id
    assert house.told_last() == ("screen.withdraw", "ok", patient, screen)


async def test_the_plan_before_it_stands_again(house: House) -> None:
    first = await house.recorded()
    second = await house.recorded(later(5))
    await withdraw_screen(house.service, house.call, second.screen.id, None, "wrong person")
    plan = await read_plan(house.service, house.call, first.plan.id)
    assert plan.state == PlanState.CURRENT
    assert house.events(plan.id)[-1] == PlanEventKind.RESTORED


async def test_a_withdrawn_plan_stays_withdrawn_when_its_time_has_run_out(house: House) -> None:
    before = await house.recorded()
    house.clock.now = before.plan.valid_until
    after = await withdraw_screen(house.service, house.call, before.screen.id, 1, "wrong person")
    assert after.plan.state == PlanState.WITHDRAWN


async def test_twice_is_the_same_as_once(house: House) -> None:
    screen = (await house.recorded()).screen.id
    once = await withdraw_screen(house.service, house.call, screen, None, "wrong person")
    assert once == await withdraw_screen(house.service, house.call, screen, None, "again")


async def test_another_version_is_not_withdrawn(house: House) -> None:
    before = await house.recorded()
    with pytest.raises(StaleVersion):
        await withdraw_screen(house.service, house.call, before.screen.id, 2, "wrong person")
    assert house.events(before.plan.id) == [PlanEventKind.CREATED]
    assert house.told_last() == ("screen.withdraw", "StaleVersion", None, before.screen.id)


async def test_a_screen_that_is_not_there_is_not_found_and_noted(house: House) -> None:
    with pytest.raises(NotFound):
        await withdraw_screen(house.service, house.call, NOWHERE, None, "wrong person")
    assert house.told_last() == ("screen.withdraw", "not_found", None, None)


async def test_nothing_is_withdrawn_while_the_record_is_busy(house: House) -> None:
    before = await house.recorded()
    house.records.busy = True
    with pytest.raises(Unavailable):
        await withdraw_screen(house.service, house.call, before.screen.id, 1, "wrong person")
    assert house.events(before.plan.id) == [PlanEventKind.CREATED]


async def test_the_scores_of_a_withdrawn_screen_are_no_earlier_scores(house: House) -> None:
    wrong = await house.recorded(walked("18"))
    await withdraw_screen(house.service, house.call, wrong.screen.id, 1, "wrong person")
    after = await house.recorded(walked("14", minutes=5))
    assert after.tests[0].change is None
