"""Does a clinician's choice stand until it is taken back or a new plan is made, and never lost?"""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from service.application.correct_screen import correct_screen
from service.application.overrule_plan import overrule_plan
from service.application.plan_history import plan_versions
from service.application.read_plan import current_plan, patient_with_plan, planned_move, read_plan
from service.application.withdraw_screen import withdraw_screen
from service.domain.context import Context
from service.domain.move import Move
from service.domain.overruling import Decision
from service.domain.plan import Plan, PlannedMove, PlanState
from service.domain.problem import Conflict, NotFound, Refused, StaleVersion, Unavailable
from service.domain.record import PlanEventKind
from service.domain.value import Clinician, Identifier
from tests.application.made import NOWHERE, WARD, House, later

BY = Clinician(identifier=Identifier(system="urn:oid:2.999.9", value="S-31"), role="nurse")
TO_CHAIR = Move.BED_TO_CHAIR


def decided(method: str = "sling_lift", move: Move = TO_CHAIR) -> Decision:
    return Decision(move=move, method=method, reason="Fainted twice.", by=BY)


def to_chair(plan: Plan) -> PlannedMove:
    return next(one for one in plan.moves if one.move == TO_CHAIR)


async def overruled(house: House, plan: str, version: int = 1, method: str = "sling_lift") -> Plan:
    return await overrule_plan(house.service, house.call, plan, version, decided(method))


async def test_the_choice_stands_wherever_the_plan_is_read(house: House) -> None:
    before = (await house.recorded()).plan
    house.clock.now += timedelta(minutes=7)
    after = await overruled(house, before.id)
    assert (after.id, after.version, after.state) == (before.id, 2, PlanState.CURRENT)
    moved = to_chair(after)
    assert moved.method == "sling_lift"
    assert moved.overrule is not None
    assert moved.overrule.computed == to_chair(before)
    assert (moved.overrule.by, moved.overrule.at) == (BY, house.clock.now)
    assert moved.overrule.recorded_by == WARD.name
    assert house.told_last() == ("plan.overrule", "ok", before.patient_id, before.id)
    assert await read_plan(house.service, house.call, before.id) == after
    read = await planned_move(house.service, house.call, before.id, TO_CHAIR)
    assert (read.method, read.overrule, read.plan_version) == ("sling_lift", moved.overrule, 2)
    patient = await patient_with_plan(house.service, house.call, before.patient_id)
    assert await current_plan(house.service, house.call, patient) == after
    others = [one for one in after.moves if one.move != TO_CHAIR]
    assert others == [one for one in before.moves if one.move != TO_CHAIR]


async def test_each_version_says_what_stood_then(house: House) -> None:
    plan = (await house.recorded()).plan
    computed = to_chair(plan).method
    await overruled(house, plan.id)
    await overruled(house, plan.id, 2, "do_not_move")
    await overruled(house, plan.id, 3, computed)
    kept = await house.records.plan(WARD.org, plan.id)
    assert kept is not None
    told = [to_chair(one.plan) for one in plan_versions(kept, house.clock.now)]
    assert [one.method for one in told] == [computed, "do_not_move", "sling_lift", computed]
    assert [one.overrule is None for one in told] == [True, False, False, True]


async def test_a_choice_is_made_for_the_version_that_was_read(house: House) -> None:
    plan = (await house.recorded()).plan
    await overruled(house, plan.id)
    with pytest.raises(StaleVersion):
        await overruled(house, plan.id, 1, "do_not_move")
    assert house.events(plan.id) == [PlanEventKind.CREATED, PlanEventKind.OVERRULED]
    assert house.told_last() == ("plan.overrule", "StaleVersion", None, plan.id)


@pytest.mark.parametrize(
    ("decision", "path", "rule"),
    [
        (decided(move=Move.WALK), "/move", "overrule.move"),
        (decided("slide_sheet"), "/method", "overrule.method"),
        (decided("carry"), "/method", "overrule.method"),
        (decided("unaided"), "/method", "overrule.same"),
    ],
)
async def test_a_choice_that_cannot_be_is_refused_by_its_place(
    house: House, decision: Decision, path: str, rule: str
) -> None:
    plan = (await house.recorded(later(0, context=Context(moves=[TO_CHAIR])))).plan
    assert to_chair(plan).method == "unaided"
    with pytest.raises(Refused) as caught:
        await overrule_plan(house.service, house.call, plan.id, 1, decision)
    assert [(fault.path, fault.rule) for fault in caught.value.faults] == [(path, rule)]
    assert house.events(plan.id) == [PlanEventKind.CREATED]


async def test_what_stands_already_is_not_chosen_again(house: House) -> None:
    plan = (await house.recorded()).plan
    await overruled(house, plan.id)
    with pytest.raises(Refused):
        await overruled(house, plan.id, 2)
    with pytest.raises(StaleVersion):
        await overruled(house, plan.id, 1)


async def test_a_computed_method_that_the_rules_no_longer_know_can_be_gone_back_to(
    house: House,
) -> None:
    plan = (await house.recorded()).plan
    stored = house.records.plans[WARD.org, plan.id]
    moves = tuple(replace(one, method="of_before") for one in stored.moves)
    house.records.plans[WARD.org, plan.id] = replace(stored, moves=moves)
    await overruled(house, plan.id)
    back = to_chair(await overruled(house, plan.id, 2, "of_before"))
    assert (back.method, back.overrule) == ("of_before", None)


@pytest.mark.parametrize("what", ["lapsed", "superseded", "withdrawn"])
async def test_only_the_plan_that_stands_is_overruled(house: House, what: str) -> None:
    answer = await house.recorded()
    if what == "lapsed":
        house.clock.now = answer.plan.valid_until
    elif what == "superseded":
        await house.recorded(later(5))
    else:
        await withdraw_screen(house.service, house.call, answer.screen.id, None, "wrong person")
    with pytest.raises(Conflict):
        await overruled(house, answer.plan.id)
    assert PlanEventKind.OVERRULED not in house.events(answer.plan.id)


async def test_a_new_plan_is_computed_anew_and_says_what_had_been_chosen(house: House) -> None:
    answer = await house.recorded()
    await overruled(house, answer.plan.id)
    content = later(0, location="harbour_ward/12")
    after = await correct_screen(
        house.service, house.call, answer.screen.id, 1, "wrong room", content
    )
    assert to_chair(after.plan).overrule is None
    notice = after.plan.notices[0]
    assert notice.rule == "notice.set_aside"
    assert "(Fainted twice.)" in notice.text
    third = await house.recorded(later(5))
    assert "notice.set_aside" not in {one.rule for one in third.plan.notices}


async def test_a_plan_that_stands_again_stands_as_it_was_overruled(house: House) -> None:
    first = (await house.recorded()).plan
    await overruled(house, first.id)
    second = await house.recorded(later(5))
    await withdraw_screen(house.service, house.call, second.screen.id, None, "wrong person")
    plan = await read_plan(house.service, house.call, first.id)
    assert (plan.state, to_chair(plan).method) == (PlanState.CURRENT, "sling_lift")


async def test_a_plan_that_is_not_there_is_not_found_and_noted(house: House) -> None:
    plan = (await house.recorded()).plan
    for call, asked in ((house.call, NOWHERE), (house.stranger, plan.id)):
        with pytest.raises(NotFound):
            await overrule_plan(house.service, call, asked, 1, decided())
        assert house.told_last() == ("plan.overrule", "not_found", None, None)


async def test_nothing_is_chosen_while_the_record_is_busy(house: House) -> None:
    plan = (await house.recorded()).plan
    house.records.busy = True
    with pytest.raises(Unavailable):
        await overruled(house, plan.id)
    assert house.events(plan.id) == [PlanEventKind.CREATED]
