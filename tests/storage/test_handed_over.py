"""Is nothing lost that was said of a plan when another one comes to stand in its place?"""

import pytest

from service.application.ports import KeptPlan, KeptScreen, Merge
from service.domain.lifecycle import as_of
from service.domain.plan import PlanState
from service.domain.record import SetAside
from tests.storage.made import House, sql_of
from tests.storage.test_change_plan import choice, end, kept, kinds, overrule, planning

LEFT = (SetAside("Bed to chair", "sling_lift", "Fainted twice."),)


async def plan_of(house: House, value: str = "H-1007") -> KeptPlan:
    """The plan that stands."""
    found = await house.store.plan(house.by.org, str(await house.current(value)))
    assert found is not None
    return found


def state(house: House, plan: KeptPlan) -> PlanState:
    return as_of(plan.plan, plan.events, is_current=plan.is_current, now=house.clock.now).state


async def corrected(house: House, value: str = "H-1007", at: int = 0, to: int = 0) -> KeptScreen:
    """A screen that was overruled and then corrected."""
    new = planning(house.new(value, at))
    await house.store.keep(new)
    await overrule(house, new.assessment.plan.id)
    return await house.store.correct(house.correction(new, 1, to))


async def test_the_plan_that_stands_again_tells_what_was_chosen_for_the_withdrawn_one(
    house: House,
) -> None:
    first, second = await kept(house), await kept(house, at=1)
    await overrule(house, second.plan.plan.id)
    await house.store.withdraw(house.withdrawal(second.record.id))
    stands = await plan_of(house)
    assert (stands.plan.id, kinds(stands)[-1]) == (first.plan.plan.id, "restored")
    assert stands.events[-1].set_aside == LEFT


async def test_the_plan_that_leads_after_a_correction_tells_what_was_chosen(house: House) -> None:
    first = await kept(house, at=1)
    await corrected(house, at=2, to=0)
    stands = await plan_of(house)
    assert stands.plan.id == first.plan.plan.id
    assert stands.events[-1].set_aside == LEFT


async def test_a_correction_still_tells_what_nobody_decided_since(house: House) -> None:
    first = (await kept(house)).plan.plan.id
    await overrule(house, first)
    new = planning(house.new(at=1))
    await house.store.keep(new)
    once = await house.store.correct(house.correction(new, 1, 1))
    assert once.plan.events[0].set_aside == LEFT
    twice = await house.store.correct(house.correction(new, 2, 2))
    assert twice.plan.events[0].set_aside == LEFT


async def test_what_was_chosen_goes_along_when_a_plan_that_no_longer_stands_is_corrected(
    house: House,
) -> None:
    new = planning(house.new())
    await house.store.keep(new)
    await overrule(house, new.assessment.plan.id)
    second = await kept(house, at=1)
    after = await house.store.correct(house.correction(new, 1, 0))
    await house.store.withdraw(house.withdrawal(second.record.id))
    stands = await plan_of(house)
    assert stands.plan.id == after.plan.plan.id
    assert [left for event in stands.events for left in event.set_aside] == list(LEFT)


async def test_a_plan_that_stands_again_with_its_choice_does_not_call_it_left_behind(
    house: House,
) -> None:
    first = (await kept(house, at=1)).plan.plan.id
    await overrule(house, first)
    new = planning(house.new(at=2))
    await house.store.keep(new)
    await house.store.correct(house.correction(new, 1, 0))
    stands = await plan_of(house)
    assert (stands.plan.id, kinds(stands)[-1]) == (first, "restored")
    assert [event.set_aside for event in stands.events] == [()] * 4


async def test_a_correction_tells_no_choice_that_was_decided_anew(house: House) -> None:
    first = (await kept(house)).plan.plan.id
    await overrule(house, first)
    new = planning(house.new(at=1))
    plan = (await house.store.keep(new)).plan.plan.id
    await overrule(house, plan, 1, choice("do_not_move"))
    await overrule(house, plan, 2, choice("stand_aid", back=True))
    after = await house.store.correct(house.correction(new, 1, 1))
    assert after.plan.events[0].set_aside == ()


async def test_a_fall_outlives_the_correction_of_a_screen_before_it(house: House) -> None:
    new = planning(house.new())
    plan = (await house.store.keep(new)).plan.plan.id
    house.clock.go_on(minutes=30)
    await end(house, plan)
    house.clock.go_on(minutes=5)
    after = await house.store.correct(house.correction(new, 1, 10))
    assert state(house, after.plan) == PlanState.LAPSED
    assert kinds(after.plan) == ["created", "lapsed"]
    event = after.plan.events[-1]
    assert (event.reason, event.actor) == ("A fall.", house.by.name)
    (found,) = sql_of(house.path, "SELECT current_plan, current_until FROM patient")
    assert found == (after.plan.plan.id, None)


async def test_whoever_told_of_the_fall_is_named_and_not_who_corrected(house: House) -> None:
    new = planning(house.new())
    plan = (await house.store.keep(new)).plan.plan.id
    house.clock.go_on(minutes=30)
    await end(house, plan)
    house.by = type(house.by)(house.by.org, "cred-2", "other system")
    after = await house.store.correct(house.correction(new, 1, 10))
    assert [event.actor for event in after.plan.events] == ["other system", "ward system"]


async def test_a_screen_of_after_the_fall_stands_though_late_ones_came_between(
    house: House,
) -> None:
    first = (await kept(house)).plan.plan.id
    house.clock.go_on(minutes=30)
    await end(house, first)
    fell = house.clock.now
    house.clock.go_on(minutes=10)
    late = await kept(house, at=20)
    assert state(house, late.plan) == PlanState.LAPSED
    assert late.plan.events[-1].since == fell
    after = await kept(house, at=31)
    assert state(house, after.plan) == PlanState.CURRENT


async def test_a_fall_outlives_the_withdrawal_of_the_screen_it_was_told_for(house: House) -> None:
    first = await kept(house)
    second = await kept(house, at=1)
    house.clock.go_on(minutes=30)
    await end(house, second.plan.plan.id)
    await house.store.withdraw(house.withdrawal(second.record.id))
    stands = await plan_of(house)
    assert stands.plan.id == first.plan.plan.id
    assert state(house, stands) == PlanState.LAPSED
    assert kinds(stands) == ["created", "superseded", "restored", "lapsed"]


async def test_a_fall_outlives_that_its_plan_is_corrected_while_a_newer_one_stands(
    house: House,
) -> None:
    new = planning(house.new())
    await house.store.keep(new)
    house.clock.go_on(minutes=30)
    await end(house, new.assessment.plan.id)
    newer = await kept(house, at=40)
    assert state(house, newer.plan) == PlanState.CURRENT
    after = await house.store.correct(house.correction(new, 1, 5))
    assert kinds(after.plan) == ["created", "superseded"]
    await house.store.withdraw(house.withdrawal(newer.record.id))
    stands = await plan_of(house)
    assert stands.plan.id == after.plan.plan.id
    assert state(house, stands) == PlanState.LAPSED


async def test_a_fall_outlives_that_no_plan_is_left(house: House) -> None:
    only = await kept(house)
    house.clock.go_on(minutes=30)
    await end(house, only.plan.plan.id)
    await house.store.withdraw(house.withdrawal(only.record.id))
    assert state(house, (await kept(house, at=20)).plan) == PlanState.LAPSED
    assert state(house, (await kept(house, at=31)).plan) == PlanState.CURRENT


async def test_a_plan_that_lapsed_itself_does_not_lapse_again_when_it_is_restored(
    house: House,
) -> None:
    first = (await kept(house)).plan.plan.id
    house.clock.go_on(minutes=30)
    await end(house, first)
    second = await kept(house, at=20)
    await house.store.withdraw(house.withdrawal(second.record.id))
    stands = await plan_of(house)
    assert kinds(stands) == ["created", "lapsed", "superseded", "restored"]
    assert state(house, stands) == PlanState.LAPSED


@pytest.mark.parametrize("goes", ["who fell", "the other one"])
async def test_a_fall_outlives_that_two_records_are_found_to_be_one_patient(
    house: House, goes: str
) -> None:
    fell, other = await kept(house), await kept(house, "H-2", at=1)
    house.clock.go_on(minutes=30)
    await end(house, fell.plan.plan.id)
    pair = (fell, other) if goes == "who fell" else (other, fell)
    gone, stays = [one.record.patient_id for one in pair]
    await house.store.merge(Merge(house.by, house.request(), gone, stays))
    stands = await plan_of(house)
    assert stands.plan.id == other.plan.plan.id
    assert state(house, stands) == PlanState.LAPSED
    assert stands.events[-1].patient == stays


async def test_time_that_ran_out_ends_no_plan_but_its_own(house: House) -> None:
    first = await kept(house)
    house.clock.now = first.plan.plan.valid_until
    await house.store.lapse(house.by, first.plan.plan.id, house.clock.now)
    late = await kept(house, at=60)
    assert state(house, late.plan) == PlanState.CURRENT
    assert kinds(late.plan) == ["created"]
