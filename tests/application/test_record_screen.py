"""Is a screen kept with its plan, once, and nothing of one that is refused?"""

import pytest

from service.application.ports import Once
from service.application.record_screen import record_screen
from service.domain.plan import PlanState
from service.domain.problem import Conflict, KeyReused, Refused, Unavailable
from service.domain.record import PlanEventKind, ScreenStatus
from tests.application.made import MORNING, WARD, House, later, walked
from tests.rules.screens import SCREEN, patient

KEY = Once("screen.record", "key-1", "digest-1")


async def test_a_screen_is_kept_with_its_plan_and_answered(house: House) -> None:
    done = await record_screen(house.service, house.call, walked("14"), None)
    record, plan = done.answer.screen, done.answer.plan
    assert not done.replayed
    assert (record.version, record.status) == (1, ScreenStatus.FINAL)
    assert (record.recorded_at, record.recorded_by) == (MORNING, WARD.name)
    assert record.content == walked("14")
    assert [score.test for score in done.answer.tests] == ["timed_up_and_go"]
    assert (plan.screen_id, plan.screen_version) == (record.id, 1)
    assert (plan.patient_id, plan.state) == (record.patient_id, PlanState.CURRENT)
    assert house.events(plan.id) == [PlanEventKind.CREATED]
    assert house.told() == [("screen.record", "ok", record.patient_id, record.id)]


async def test_what_the_rules_refuse_is_not_kept(house: House) -> None:
    with pytest.raises(Refused) as refused:
        await record_screen(house.service, house.call, patient(age_years=17), KEY)
    assert [fault.path for fault in refused.value.faults] == ["/patient/age_years"]
    assert house.kept_nothing()
    done = await record_screen(house.service, house.call, SCREEN, KEY)
    assert not done.replayed


async def test_nothing_is_kept_while_the_record_is_busy(house: House) -> None:
    house.records.busy = True
    with pytest.raises(Unavailable):
        await record_screen(house.service, house.call, SCREEN, None)
    assert house.kept_nothing()


async def test_a_newer_screen_replaces_the_plan_before(house: House) -> None:
    first = await house.recorded()
    second = await house.recorded(later(5))
    assert second.plan.replaces == first.plan.id
    assert house.events(first.plan.id) == [PlanEventKind.CREATED, PlanEventKind.SUPERSEDED]


async def test_a_screen_that_comes_late_is_answered_as_superseded(house: House) -> None:
    await house.recorded()
    late = await house.recorded(later(-30))
    assert (late.plan.state, late.plan.replaces) == (PlanState.SUPERSEDED, None)


async def test_a_screen_so_old_that_its_plan_has_run_out_is_answered_as_lapsed(
    house: House,
) -> None:
    old = await house.recorded(later(-60 * 24 * 400))
    assert old.plan.state == PlanState.LAPSED


async def test_the_same_key_and_body_are_answered_as_before(house: House) -> None:
    first = await record_screen(house.service, house.call, SCREEN, KEY)
    again = await record_screen(house.service, house.call, SCREEN, KEY)
    assert again.replayed
    assert again.answer == first.answer
    assert len(house.records.screens) == len(house.records.plans) == 1


async def test_a_replayed_answer_tells_the_state_of_now(house: House) -> None:
    first = await record_screen(house.service, house.call, SCREEN, KEY)
    house.clock.now = first.answer.plan.valid_until
    again = await record_screen(house.service, house.call, SCREEN, KEY)
    assert again.answer.plan.state == PlanState.LAPSED


async def test_the_same_key_with_another_body_is_turned_away(house: House) -> None:
    await record_screen(house.service, house.call, SCREEN, KEY)
    with pytest.raises(KeyReused):
        await record_screen(
            house.service, house.call, later(5), Once(KEY.operation, KEY.key, "digest-2")
        )
    assert len(house.records.screens) == 1
    assert house.told_last() == ("screen.record", "KeyReused", None, None)


async def test_a_source_id_belongs_to_one_screen(house: House) -> None:
    first = await house.recorded(later(0, source_id="S-1"))
    same = await house.recorded(later(0, source_id="S-1"))
    assert same.screen.id == first.screen.id
    with pytest.raises(Conflict) as conflict:
        await house.recorded(later(5, source_id="S-1"))
    assert [fault.path for fault in conflict.value.faults] == ["/source_id"]
    assert len(house.records.screens) == 1
