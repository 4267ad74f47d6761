"""Does an answer go out with where its patient stands, and with the versions it is held against?"""

import pytest
from msgspec.structs import replace

from service.application.answer import plan_now
from service.application.correct_screen import correct_screen
from service.application.patients import merge_patients
from service.application.standing import looked_up
from service.application.told_whole import VERSIONS_READ, family_of, told_with, versions_of
from service.application.withdraw_screen import withdraw_screen
from service.domain.plan import PlanState
from service.domain.problem import NotFound
from service.domain.record import PlanEventKind
from tests.application.made import NOWHERE, House, later, of


async def test_the_answer_whose_plan_stands_goes_out_with_that_plans_events(house: House) -> None:
    first = await house.recorded()
    answer = await house.recorded(later(5))
    told = await told_with(house.service, house.call, answer)
    assert told.standing is not None
    assert told.standing.plan.plan.id == answer.plan.id
    assert [one.plan.plan.id for one in told.standing.earlier] == [first.plan.id]
    assert [event.kind for event in told.events] == [PlanEventKind.CREATED]
    assert told.history == ()


async def test_one_earlier_plan_is_looked_at_as_by_whoever_reads_it_later(house: House) -> None:
    plans = [(await house.recorded(later(minutes))).plan.id for minutes in (0, 5, 10)]
    answer = await house.recorded(later(15))
    told = await told_with(house.service, house.call, answer)
    (read,) = await looked_up(house.service, house.call, answer.screen.patient_id, 1, 9)
    assert told.standing is not None
    assert [one.plan.plan.id for one in told.standing.earlier] == plans[:1:-1]
    assert told.standing.earlier == read.earlier[:1]


async def test_an_answer_whose_plan_gave_way_keeps_the_events_of_its_own(house: House) -> None:
    answer = await house.recorded()
    newest = await house.recorded(later(5))
    told = await told_with(house.service, house.call, answer)
    assert told.standing is not None
    assert told.standing.plan.plan.id == newest.plan.id
    assert [event.plan for event in told.events] == [answer.plan.id] * 2


async def test_a_plan_that_ran_out_unnoticed_is_written_down_as_such_first(house: House) -> None:
    answer = await house.recorded()
    house.clock.now = answer.plan.valid_until
    told = await told_with(house.service, house.call, answer)
    assert told.standing is not None
    assert plan_now(told.standing.plan, told.standing.at).state == PlanState.LAPSED
    assert [event.kind for event in told.events][-1] == PlanEventKind.LAPSED


async def test_of_a_joined_record_it_is_told_where_the_one_who_stays_stands(house: House) -> None:
    gone = await house.recorded(of("H-2"))
    stays = await house.recorded(of("H-3", 5))
    await merge_patients(house.service, house.call, gone.screen.patient_id, stays.screen.patient_id)
    told = await told_with(house.service, house.call, gone)
    assert told.standing is not None
    assert told.standing.patient.id == stays.screen.patient_id
    family = await family_of(house.service, house.call, stays.screen.patient_id)
    assert [one.patient for one in family.replaces] == [gone.screen.patient_id]


async def test_a_corrected_screen_brings_all_its_versions_oldest_first(house: House) -> None:
    answer = await house.recorded()
    for version, minutes in ((1, 1), (2, 2)):
        answer = await correct_screen(
            house.service, house.call, answer.screen.id, version, "wrong hour", later(minutes)
        )
    told = await told_with(house.service, house.call, answer)
    assert [one.screen.version for one in told.history] == [1, 2, 3]
    second = replace(answer.screen, version=2)
    found = await versions_of(house.service, house.call, second)
    assert [one.screen.version for one in found] == [1, 2]


async def test_so_many_versions_are_read_and_no_more(house: House) -> None:
    answer = await house.recorded()
    read = replace(answer.screen, version=VERSIONS_READ + 5)
    found = await versions_of(house.service, house.call, read)
    assert found == ()


async def test_a_plan_or_a_patient_that_is_not_there_is_not_found(house: House) -> None:
    answer = await house.recorded()
    nowhere = replace(
        answer,
        screen=replace(answer.screen, patient_id=NOWHERE),
        plan=replace(answer.plan, id=NOWHERE),
    )
    with pytest.raises(NotFound):
        await told_with(house.service, house.call, nowhere)
    with pytest.raises(NotFound):
        await family_of(house.service, house.call, NOWHERE)


async def test_where_nothing_stands_the_plan_is_told_alone(house: House) -> None:
    answer = await house.recorded()
    elsewhere = replace(answer, screen=replace(answer.screen, patient_id=NOWHERE))
    told = await told_with(house.service, house.call, elsewhere)
    assert told.standing is None
    assert [event.kind for event in told.events] == [PlanEventKind.CREATED]


async def test_a_withdrawn_answer_is_told_with_the_screen_that_its_plan_rests_on(
    house: House,
) -> None:
    answer = await house.recorded()
    taken = await withdraw_screen(house.service, house.call, answer.screen.id, 1, "wrong person")
    told = await told_with(house.service, house.call, taken)
    assert told.standing is not None
    assert told.standing.screen == answer.screen
    assert [one.screen.version for one in told.history] == [1, 2]
