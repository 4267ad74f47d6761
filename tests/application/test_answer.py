"""Does an answer carry the plan in the state it has at the moment it is read?"""

from datetime import timedelta

import pytest

from service.application.answer import answer_now, plan_now
from service.application.ports import KeptScreen
from service.domain.plan import PlanState
from service.domain.record import Answer
from tests.application.made import WARD, House, later


async def _kept(house: House, answer: Answer) -> KeptScreen:
    kept = await house.records.screen(WARD.org, answer.screen.id)
    assert kept is not None
    return kept


@pytest.mark.parametrize(
    ("after_the_end", "state", "version"),
    [
        (timedelta(microseconds=-1), PlanState.CURRENT, 1),
        (timedelta(0), PlanState.LAPSED, 2),
        (timedelta(days=300), PlanState.LAPSED, 2),
    ],
)
async def test_the_plan_is_current_until_its_time_has_run_out(
    house: House, after_the_end: timedelta, state: PlanState, version: int
) -> None:
    kept = await _kept(house, await house.recorded())
    plan = plan_now(kept.plan, kept.plan.plan.valid_until + after_the_end)
    assert (plan.state, plan.version) == (state, version)


async def test_a_plan_that_another_one_replaced_is_superseded_however_fresh(house: House) -> None:
    first = await house.recorded()
    await house.recorded(later(5))
    kept = await _kept(house, first)
    assert plan_now(kept.plan, house.clock.now).state == PlanState.SUPERSEDED


async def test_the_answer_is_what_was_kept_and_the_rule_book_that_gave_it(house: House) -> None:
    kept = await _kept(house, await house.recorded())
    answer = answer_now(kept, house.clock.now)
    assert (answer.screen, answer.profile, answer.tests) == (
        kept.record,
        kept.profile,
        kept.tests,
    )
    assert answer.plan == plan_now(kept.plan, house.clock.now)
    assert answer.rule_book == house.service.book.ref
