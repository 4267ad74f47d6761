"""Is a plan read in its state of this moment, its lapse written down once?"""

import pytest
from msgspec.structs import astuple, replace

from service.application.patients import read_patient
from service.application.read_plan import current_plan, planned_move, read_plan, screen_behind
from service.application.withdraw_screen import withdraw_screen
from service.domain.context import Context
from service.domain.move import Move
from service.domain.plan import MoveNow, PlanState
from service.domain.problem import NotFound, Unavailable
from service.domain.record import PlanEventKind
from tests.application.made import NOWHERE, WARD, House, later
from tests.rules.screens import PATIENT, screen


async def test_a_plan_reads_back_as_it_was_answered_and_is_noted(house: House) -> None:
    plan = (await house.recorded()).plan
    assert await read_plan(house.service, house.call, plan.id) == plan
    assert house.told_last() == ("plan.read", "ok", plan.patient_id, plan.id)
    assert PATIENT.identifier.value not in repr(house.records.entries)


async def test_a_plan_whose_time_ran_out_reads_lapsed_and_that_is_written_once(
    house: House,
) -> None:
    plan = (await house.recorded()).plan
    house.clock.now = plan.valid_until
    readings = [await read_plan(house.service, house.call, plan.id) for _ in range(3)]
    assert {(read.state, read.version) for read in readings} == {(PlanState.LAPSED, 2)}
    assert house.events(plan.id) == [PlanEventKind.CREATED, PlanEventKind.LAPSED]
    assert house.records.events[WARD.org, plan.id][-1].at == house.clock.now
    assert [action for action, *_ in house.told()].count("plan.lapse") == 1


async def test_a_lapse_that_is_written_costs_later_readings_only_their_note(house: House) -> None:
    plan = (await house.recorded()).plan
    house.clock.now = plan.valid_until
    await read_plan(house.service, house.call, plan.id)
    before = house.records.writes
    await read_plan(house.service, house.call, plan.id)
    assert house.records.writes == before + 1


async def test_the_lapse_of_a_superseded_plan_is_not_written(house: House) -> None:
    first = (await house.recorded()).plan
    await house.recorded(later(5))
    house.clock.now = first.valid_until
    assert (await read_plan(house.service, house.call, first.id)).state == PlanState.SUPERSEDED
    assert house.events(first.id) == [PlanEventKind.CREATED, PlanEventKind.SUPERSEDED]


async def test_a_plan_that_is_not_there_is_not_found_and_noted(house: House) -> None:
    with pytest.raises(NotFound):
        await read_plan(house.service, house.call, NOWHERE)
    assert house.told_last() == ("plan.read", "not_found", None, None)


async def test_another_organisation_does_not_find_the_plan(house: House) -> None:
    plan = (await house.recorded()).plan
    with pytest.raises(NotFound):
        await read_plan(house.service, house.stranger, plan.id)


async def test_a_plan_is_not_shown_when_the_reading_cannot_be_noted(house: House) -> None:
    plan = (await house.recorded()).plan
    house.records.busy = True
    with pytest.raises(Unavailable):
        await read_plan(house.service, house.call, plan.id)


async def test_the_current_plan_is_that_of_the_newest_screen(house: House) -> None:
    await house.recorded()
    newest = (await house.recorded(later(5))).plan
    await house.recorded(later(-5))
    patient = await read_patient(house.service, house.call, newest.patient_id)
    assert await current_plan(house.service, house.call, patient) == newest


async def test_the_current_plan_is_given_lapsed_when_its_time_ran_out(house: House) -> None:
    plan = (await house.recorded()).plan
    house.clock.now = plan.valid_until
    patient = await read_patient(house.service, house.call, plan.patient_id)
    read = await current_plan(house.service, house.call, patient)
    assert (read.id, read.state) == (plan.id, PlanState.LAPSED)
    assert read.while_lapsed == plan.while_lapsed


async def test_a_patient_whose_only_screen_was_withdrawn_has_no_current_plan(house: House) -> None:
    answered = await house.recorded()
    await withdraw_screen(house.service, house.call, answered.screen.id, None, "wrong person")
    patient = await read_patient(house.service, house.call, answered.screen.patient_id)
    with pytest.raises(NotFound):
        await current_plan(house.service, house.call, patient)
    assert house.told_last() == ("plan.read", "not_found", patient.id, None)


async def test_one_move_of_a_plan_is_the_answer_the_plan_has_for_it(house: House) -> None:
    plan = (await house.recorded()).plan
    for planned in plan.moves:
        assert await planned_move(house.service, house.call, plan.id, planned.move) == MoveNow(
            *astuple(planned),
            plan_id=plan.id,
            plan_version=1,
            plan_state=PlanState.CURRENT,
            valid_until=plan.valid_until,
            while_lapsed=next(one for one in plan.while_lapsed if one.move == planned.move),
        )
    assert house.told_last() == ("plan.read", "ok", plan.patient_id, plan.id)


async def test_a_move_the_plan_was_not_asked_for_is_not_found(house: House) -> None:
    asked = screen(context=Context(moves=[Move.WALK]))
    plan = (await house.recorded(asked)).plan
    with pytest.raises(NotFound):
        await planned_move(house.service, house.call, plan.id, Move.TURN_IN_BED)


async def test_the_screen_behind_a_plan_is_the_version_it_rests_on(house: House) -> None:
    answered = await house.recorded()
    await withdraw_screen(house.service, house.call, answered.screen.id, 1, "wrong person")
    behind = await screen_behind(house.service, house.call, answered.plan)
    assert behind.record == answered.screen


async def test_a_plan_without_its_screen_is_told_as_not_found(house: House) -> None:
    plan = replace((await house.recorded()).plan, screen_id=NOWHERE)
    with pytest.raises(NotFound):
        await screen_behind(house.service, house.call, plan)
