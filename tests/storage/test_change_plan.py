"""Does the plan that stands change only by events, each for the version that was read?"""

import asyncio
from datetime import timedelta
from typing import Any

import pytest
from msgspec.structs import replace

from service.application.plan_ports import Ending, Overruling
from service.application.ports import KeptPlan, KeptScreen, Merge, NewScreen, StandingsAsked
from service.domain.lifecycle import as_of
from service.domain.move import Move
from service.domain.plan import PlannedMove, PlanState
from service.domain.problem import Conflict, NotFound, StaleVersion
from service.domain.record import Overruled, SetAside
from service.domain.value import Clinician, Identifier
from tests.storage.made import BOOK, House, rows_of, sql_of

BY = Clinician(identifier=Identifier(system="urn:oid:2.999.9", value="S-31"), role="nurse")
TOLD = (
    "SELECT json_extract(body, '$.action'), json_extract(body, '$.outcome')"
    " FROM audit WHERE chain = 1 ORDER BY seq"
)


def answer(method: str) -> PlannedMove:
    return PlannedMove(
        Move.BED_TO_CHAIR, "Bed to chair", method, method, method, 1,
        (), (), None, (), (), (), (), (), (), None, (),
    )  # fmt: skip


def choice(method: str = "sling_lift", *, back: bool = False) -> Overruled:
    return Overruled(answer(method), "Fainted twice.", BY, BOOK, back=back)


async def kept(house: House, value: str = "H-1007", at: int = 0) -> KeptScreen:
    return await house.store.keep(planning(house.new(value, at)))


def planning(new: NewScreen) -> NewScreen:
    plan = replace(new.assessment.plan, moves=(answer("stand_aid"),))
    return replace(new, assessment=replace(new.assessment, plan=plan))


async def overrule(
    house: House, plan: str, version: int = 1, said: Overruled | None = None
) -> KeptPlan:
    request = house.request()
    return await house.store.overrule(
        Overruling(house.by, request, plan, version, said or choice())
    )


async def end(house: House, plan: str, version: int | None = None) -> KeptPlan:
    return await house.store.end(Ending(house.by, house.request(), plan, version, "A fall."))


def kinds(plan: KeptPlan) -> list[str]:
    return [event.kind.value for event in plan.events]


def told(house: House) -> list[str]:
    return [" ".join(row) for row in sql_of(house.path, TOLD)]


async def test_an_overrule_is_read_back_as_it_was_said(house: House) -> None:
    plan = (await kept(house)).plan.plan
    house.clock.go_on(minutes=5)
    after = await overrule(house, plan.id)
    assert kinds(after) == ["created", "overruled"]
    event = after.events[-1]
    assert (event.overruled, event.at, event.actor) == (choice(), house.clock.now, "ward system")
    assert after.plan == plan
    assert after.is_current
    assert await house.store.plan(house.by.org, plan.id) == after
    assert told(house)[-1] == "plan.overrule ok"
    (found,) = sql_of(house.path, "SELECT rev FROM patient")
    assert found == (2,)


async def test_of_two_who_read_the_same_version_one_overrules(house: House) -> None:
    plan = (await kept(house)).plan.plan.id
    done = await asyncio.gather(
        *[overrule(house, plan, 1, choice(method)) for method in ("sling_lift", "do_not_move")],
        return_exceptions=True,
    )
    assert sorted(type(one).__name__ for one in done) == ["KeptPlan", "StaleVersion"]
    assert rows_of(house.path, "plan_event") == 2
    assert told(house)[-2:] == ["plan.overrule ok", "plan.overrule StaleVersion"]


async def test_only_the_plan_that_stands_is_overruled(house: House) -> None:
    first = (await kept(house)).plan.plan
    second = await kept(house, at=1)
    with pytest.raises(Conflict):
        await overrule(house, first.id, 2)
    await house.store.withdraw(house.withdrawal(second.record.id))
    with pytest.raises(Conflict):
        await overrule(house, second.plan.plan.id, 2)
    house.clock.now = first.valid_until
    with pytest.raises(Conflict):
        await overrule(house, first.id, 3)
    with pytest.raises(NotFound):
        await overrule(house, "nowhere")
    assert sql_of(house.path, "SELECT count(*) FROM plan_event WHERE kind = 'overruled'") == [(0,)]


async def test_a_plan_that_replaces_an_overruled_one_says_so(house: House) -> None:
    first = (await kept(house)).plan.plan.id
    await overrule(house, first)
    left = (SetAside("Bed to chair", "sling_lift", "Fainted twice."),)
    second = await kept(house, at=1)
    assert second.plan.events[0].set_aside == left
    assert await house.store.plan(house.by.org, second.plan.plan.id) == second.plan
    third = await kept(house, at=2)
    assert third.plan.events[0].set_aside == ()


@pytest.mark.parametrize("goes", ["the one with the choice", "the other one"])
async def test_where_records_are_joined_the_plan_that_stands_says_what_the_other_had(
    house: House, goes: str
) -> None:
    old, new = await kept(house), await kept(house, "H-2", at=1)
    await overrule(house, old.plan.plan.id)
    pair = (old, new) if goes == "the one with the choice" else (new, old)
    gone, stays = [one.record.patient_id for one in pair]
    await house.store.merge(Merge(house.by, house.request(), gone, stays))
    stands = await house.store.plan(house.by.org, new.plan.plan.id)
    assert stands is not None
    assert stands.is_current
    assert kinds(stands) == ["created", "restored"]
    assert [one.method_title for one in stands.events[-1].set_aside] == ["sling_lift"]
    now = as_of(stands.plan, stands.events, is_current=True, now=house.clock.now)
    assert (now.state, now.notices[0].rule) == (PlanState.CURRENT, "notice.set_aside")
    (standing,) = await house.store.standings(house.by.org, stays, StandingsAsked(1, 0))
    assert (standing.plan.plan.id, standing.plan.is_current) == (new.plan.plan.id, True)


async def test_a_choice_taken_back_is_left_nowhere(house: House) -> None:
    first = (await kept(house)).plan.plan.id
    await overrule(house, first)
    await overrule(house, first, 2, choice("stand_aid", back=True))
    assert (await kept(house, at=1)).plan.events[0].set_aside == ()


async def test_a_correction_of_an_overruled_plan_s_screen_says_so_too(house: House) -> None:
    new = planning(house.new())
    await house.store.keep(new)
    await overrule(house, new.assessment.plan.id)
    said = house.correction(new, 1, 1)
    corrected = await house.store.correct(said)
    assert len(corrected.plan.events[0].set_aside) == 1


async def test_what_is_overruled_and_replaced_in_one_breath_is_not_lost(house: House) -> None:
    first = (await kept(house)).plan.plan.id
    _, second = await asyncio.gather(overrule(house, first), kept(house, at=1))
    assert len(second.plan.events[0].set_aside) == 1


async def test_a_late_screen_leaves_the_overrule_where_it_is(house: House) -> None:
    leading = (await kept(house, at=10)).plan.plan.id
    await overrule(house, leading)
    late = await kept(house, at=5)
    assert late.plan.events[0].set_aside == ()
    assert await house.current() == leading


async def test_a_plan_is_ended_once_and_stays_ended(house: House) -> None:
    plan = (await kept(house)).plan.plan
    house.clock.go_on(minutes=5)
    ended = await end(house, plan.id)
    assert kinds(ended) == ["created", "lapsed"]
    assert (ended.events[1].reason, ended.events[1].at) == ("A fall.", house.clock.now)
    assert await end(house, plan.id) == ended
    assert told(house)[-2:] == ["plan.lapse ok", "plan.lapse ok"]
    assert sql_of(house.path, "SELECT current_until FROM patient") == [(None,)]
    second = await kept(house, at=1)
    await house.store.withdraw(house.withdrawal(second.record.id))
    again = await house.store.plan(house.by.org, plan.id)
    assert again is not None
    now = as_of(again.plan, again.events, is_current=True, now=house.clock.now)
    assert now.state == PlanState.LAPSED


@pytest.mark.parametrize(("version", "problem"), [(2, StaleVersion), (1, None), (None, None)])
async def test_where_a_version_was_named_that_one_is_ended(
    house: House, version: int | None, problem: Any
) -> None:
    plan = (await kept(house)).plan.plan.id
    if problem is None:
        assert kinds(await end(house, plan, version)) == ["created", "lapsed"]
        return
    with pytest.raises(problem, match="version 1, not 2"):
        await end(house, plan, version)


async def test_a_plan_that_stands_no_more_is_not_ended(house: House) -> None:
    first = (await kept(house)).plan.plan.id
    await kept(house, at=1)
    with pytest.raises(Conflict):
        await end(house, first)
    with pytest.raises(NotFound):
        await end(house, "nowhere")
    with pytest.raises(NotFound):
        await house.store.lapse(house.by, "nowhere", house.clock.now)


async def test_a_lapse_is_written_once(house: House) -> None:
    kept = await house.store.keep(house.new())
    plan = kept.plan.plan
    late = plan.valid_until + timedelta(minutes=1)
    lapsed = await house.store.lapse(house.by, plan.id, late)
    assert [(event.kind, event.version) for event in lapsed.events] == [
        ("created", 1),
        ("lapsed", 2),
    ]
    assert lapsed.events[1].at == late
    assert await house.store.lapse(house.by, plan.id, late) == lapsed
    assert as_of(lapsed.plan, lapsed.events, is_current=True, now=late).state == PlanState.LAPSED


async def test_a_plan_that_no_longer_leads_does_not_lapse(house: House) -> None:
    kept = await house.store.keep(house.new())
    await house.store.keep(house.new(at=1))
    told = await house.store.lapse(house.by, kept.plan.plan.id, house.clock.now)
    assert [event.kind for event in told.events] == ["created", "superseded"]
