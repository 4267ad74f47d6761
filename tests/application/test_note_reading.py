"""Is a current plan, and nothing else, read while the audit trail cannot be written?"""

import pytest
from msgspec.structs import replace

from service.application.patients import read_patient
from service.application.ports import AuditEntry
from service.application.read_plan import (
    current_plan,
    patient_with_plan,
    planned_move,
    read_plan,
)
from service.application.read_screen import read_screen
from service.application.record_screen import record_screen
from service.domain.plan import PlanState
from service.domain.problem import NotFound, Unavailable
from tests.application.made import NOWHERE, House, later


def opened(house: House) -> tuple[House, list[AuditEntry]]:
    """The same house, its current plans read while the audit trail cannot be written."""
    told: list[AuditEntry] = []
    return replace(house, service=replace(house.service, unaudited=told.append)), told


async def test_a_current_plan_is_read_and_its_entry_handed_on(house: House) -> None:
    plan = (await house.recorded()).plan
    house, told = opened(house)
    house.records.busy = True
    patient = await patient_with_plan(house.service, house.call, plan.patient_id)
    assert await current_plan(house.service, house.call, patient) == plan
    assert await read_plan(house.service, house.call, plan.id) == plan
    move = plan.moves[0]
    read = await planned_move(house.service, house.call, plan.id, move.move)
    assert (read.move, read.method, read.plan_id) == (move.move, move.method, plan.id)
    assert [(entry.action, entry.outcome) for entry in told] == [
        ("patient.read", "ok"),
        *[("plan.read", "ok")] * 3,
    ]
    assert {entry.patient for entry in told} == {plan.patient_id}


async def test_a_plan_whose_time_ran_out_is_told_as_lapsed_though_that_cannot_be_written(
    house: House,
) -> None:
    plan = (await house.recorded()).plan
    house, told = opened(house)
    house.clock.now = plan.valid_until
    house.records.busy = True
    read = await read_plan(house.service, house.call, plan.id)
    assert (read.state, read.version, len(told)) == (PlanState.LAPSED, 2, 1)
    house.records.busy = False
    again = await read_plan(house.service, house.call, plan.id)
    assert (again.state, again.version) == (PlanState.LAPSED, 2)


async def test_where_such_readings_are_closed_nothing_is_read(house: House) -> None:
    plan = (await house.recorded()).plan
    house.records.busy = True
    with pytest.raises(Unavailable):
        await patient_with_plan(house.service, house.call, plan.patient_id)
    with pytest.raises(Unavailable):
        await read_plan(house.service, house.call, plan.id)


async def test_every_other_reading_is_refused_and_nothing_is_handed_on(house: House) -> None:
    answer = await house.recorded()
    await house.recorded(later(5))
    house, told = opened(house)
    house.records.busy = True
    for reading in (
        read_plan(house.service, house.call, answer.plan.id),
        read_plan(house.service, house.call, NOWHERE),
        patient_with_plan(house.service, house.call, NOWHERE),
        read_screen(house.service, house.call, answer.screen.id),
        read_patient(house.service, house.call, answer.screen.patient_id),
    ):
        with pytest.raises(Unavailable):
            await reading
    assert told == []


async def test_a_write_fails_closed(house: House) -> None:
    house, told = opened(house)
    house.records.busy = True
    with pytest.raises(Unavailable):
        await record_screen(house.service, house.call, later(0), None)
    assert house.kept_nothing()
    assert told == []


async def test_what_is_noted_is_not_handed_on(house: House) -> None:
    plan = (await house.recorded()).plan
    house, told = opened(house)
    await read_plan(house.service, house.call, plan.id)
    assert told == []
    assert house.told_last() == ("plan.read", "ok", plan.patient_id, plan.id)


async def test_a_patient_who_is_not_there_is_not_found_and_noted(house: House) -> None:
    with pytest.raises(NotFound):
        await patient_with_plan(house.service, house.call, NOWHERE)
    assert house.told_last() == ("patient.read", "not_found", None, None)
