"""Does a patient stand where the plans of the record say, at every event and now?"""

from service.application.answer import plan_now
from service.application.ports import Standing
from service.application.standing import LISTED, LOOKED_BACK, looked_up
from service.application.withdraw_screen import withdraw_screen
from service.domain.plan import PlanState
from service.domain.record import PlanEventKind
from tests.application.made import NOWHERE, House, later


async def now_of(house: House, patient: str) -> Standing:
    (now,) = await looked_up(house.service, house.call, patient, 1, LOOKED_BACK)
    return now


async def test_a_patient_stands_with_the_plan_of_the_newest_screen(house: House) -> None:
    first = await house.recorded()
    newest = await house.recorded(later(5))
    now = await now_of(house, newest.screen.patient_id)
    assert now.plan.plan == newest.plan
    assert now.screen == newest.screen
    assert [stood.plan.plan.id for stood in now.earlier][:1] == [first.plan.id]
    assert (now.stood.profile, now.stood.tests) == (newest.profile, newest.tests)


async def test_every_event_has_a_standing_of_its_own_newest_first(house: House) -> None:
    first = await house.recorded()
    second = await house.recorded(later(5))
    patient = first.screen.patient_id
    told = await looked_up(house.service, house.call, patient, LISTED, LOOKED_BACK)
    assert [one.rev for one in told] == [3, 2, 1]
    assert [one.plan.plan.id for one in told] == [second.plan.id, first.plan.id, first.plan.id]
    assert [one.followed_by for one in told] == [None, second.screen.id, None]
    assert await looked_up(house.service, house.call, patient, 2, LOOKED_BACK) == told[:2]


async def test_a_lapse_by_the_clock_is_an_event_from_the_first_reading_on(house: House) -> None:
    plan = (await house.recorded()).plan
    house.clock.now = plan.valid_until
    for _ in range(2):
        now = await now_of(house, plan.patient_id)
        assert (now.rev, now.at) == (2, plan.valid_until)
        assert plan_now(now.plan, now.at).state == PlanState.LAPSED
    assert house.events(plan.id) == [PlanEventKind.CREATED, PlanEventKind.LAPSED]


async def test_when_the_only_screen_was_withdrawn_its_plan_is_shown_as_withdrawn(
    house: House,
) -> None:
    made = await house.recorded()
    await withdraw_screen(house.service, house.call, made.screen.id, 1, "wrong person")
    now = await now_of(house, made.screen.patient_id)
    assert not now.plan.is_current
    assert plan_now(now.plan, now.at).state == PlanState.WITHDRAWN


async def test_the_plan_before_a_withdrawn_one_stands_again(house: House) -> None:
    first = await house.recorded()
    second = await house.recorded(later(5))
    await withdraw_screen(house.service, house.call, second.screen.id, 1, "wrong person")
    now = await now_of(house, first.screen.patient_id)
    assert (now.plan.plan.id, now.plan.is_current) == (first.plan.id, True)
    assert plan_now(now.plan, now.at).state == PlanState.CURRENT


async def test_a_patient_who_is_not_known_or_of_another_organisation_stands_nowhere(
    house: House,
) -> None:
    patient = (await house.recorded()).screen.patient_id
    assert await looked_up(house.service, house.call, NOWHERE, 1, 1) == ()
    assert await looked_up(house.service, house.stranger, patient, 1, 1) == ()
