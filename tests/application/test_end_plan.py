"""Does what happens to a person end the plan at once, whoever read which version?"""

from datetime import UTC, timedelta, timezone
from typing import Any

import pytest

from service.application.end_plan import end_plan
from service.application.withdraw_screen import withdraw_screen
from service.domain.lifecycle import PlanEnded
from service.domain.plan import Ended, Plan, PlanState
from service.domain.problem import Conflict, NotFound, Refused, StaleVersion
from service.domain.record import PlanEventKind
from tests.application.made import NOWHERE, WARD, House, later


async def ended(house: House, plan: str, version: int | None, trigger: str, **more: Any) -> Plan:
    said = PlanEnded(trigger=trigger, **more)
    return await end_plan(house.service, house.call, plan, version, said)


async def test_a_trigger_ends_the_plan_and_is_told_in_words(house: House) -> None:
    plan = (await house.recorded()).plan
    after = await ended(house, plan.id, None, "fall", note="Not hurt.")
    assert (after.state, after.version) == (PlanState.LAPSED, 2)
    event = house.records.events[WARD.org, plan.id][-1]
    assert (event.kind, event.at) == (PlanEventKind.LAPSED, house.clock.now)
    assert event.reason == "A fall or a near fall. Not hurt."
    assert after.ended == Ended(event.reason, house.clock.now, WARD.name)
    assert house.told_last() == ("plan.lapse", "ok", plan.patient_id, plan.id)


async def test_when_it_happened_is_told_where_it_was_said(house: House) -> None:
    plan = (await house.recorded()).plan
    before = house.clock.now - timedelta(minutes=20)
    at_sea = before.astimezone(timezone(timedelta(hours=5)))
    after = await ended(house, plan.id, None, "fall", happened_at=at_sea)
    assert after.ended is not None
    assert (after.ended.at, after.ended.at.tzinfo) == (before, UTC)
    assert after.state == PlanState.LAPSED


async def test_what_is_still_to_happen_ends_nothing(house: House) -> None:
    plan = (await house.recorded()).plan
    soon = house.clock.now + timedelta(seconds=1)
    with pytest.raises(Refused) as caught:
        await ended(house, plan.id, None, "rain", happened_at=soon)
    assert [fault.path for fault in caught.value.faults] == ["/trigger", "/happened_at"]
    assert house.events(plan.id) == [PlanEventKind.CREATED]


async def test_each_trigger_that_a_plan_names_ends_it(house: House) -> None:
    for minute, said in enumerate(house.service.book.rescreen):
        plan = (await house.recorded(later(minute))).plan
        trigger = said.rule.rpartition(".")[2]
        await ended(house, plan.id, 1, trigger)
        assert house.records.events[WARD.org, plan.id][-1].reason == said.text


async def test_a_trigger_that_the_plan_does_not_name_is_refused(house: House) -> None:
    plan = (await house.recorded()).plan
    with pytest.raises(Refused) as caught:
        await ended(house, plan.id, None, "rain")
    (fault,) = caught.value.faults
    assert (fault.path, fault.rule) == ("/trigger", "lapse.trigger")
    assert "fall, buckling" in fault.text


async def test_twice_is_the_same_as_once(house: House) -> None:
    plan = (await house.recorded()).plan
    once = await ended(house, plan.id, None, "fall")
    assert await ended(house, plan.id, None, "surgery") == once


async def test_another_version_is_not_ended_where_one_was_named(house: House) -> None:
    plan = (await house.recorded()).plan
    with pytest.raises(StaleVersion):
        await ended(house, plan.id, 2, "fall")
    assert house.events(plan.id) == [PlanEventKind.CREATED]


async def test_a_plan_that_stands_no_more_is_not_ended(house: House) -> None:
    first = await house.recorded()
    second = await house.recorded(later(5))
    with pytest.raises(Conflict):
        await ended(house, first.plan.id, None, "fall")
    await withdraw_screen(house.service, house.call, second.screen.id, None, "wrong person")
    with pytest.raises(Conflict):
        await ended(house, second.plan.id, None, "fall")


async def test_a_plan_that_is_not_there_is_not_found_and_noted(house: House) -> None:
    with pytest.raises(NotFound):
        await ended(house, NOWHERE, None, "fall")
    assert house.told_last() == ("plan.lapse", "not_found", None, None)
