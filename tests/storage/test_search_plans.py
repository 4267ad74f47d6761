"""Does a search of plans give each, as much of it as is wanted, and decode nothing else?"""

from datetime import datetime

import pytest

from service.application.answer import plan_now
from service.application.plan_ports import Ending
from service.application.ports import Merge
from service.application.search_ports import By, FoundPlan, PassedPlan, SeenPlan, Sieve
from service.domain.plan import PlanState
from service.domain.record import PlanEventKind
from tests.storage.looks import keys, look, plans_of, ward
from tests.storage.made import House

EVERY = frozenset(PlanState)


@pytest.mark.parametrize("by", list(By))
async def test_only_the_place_is_given_of_plans_in_other_states(house: House, by: By) -> None:
    await ward(house)
    first = (await plans_of(house, look(by, down=True)))[0]
    await house.store.withdraw(house.withdrawal(first.record.id, None))
    now = house.clock()
    whole = await plans_of(house, look(by, down=True))
    states = {one.plan.plan.id: plan_now(one.plan, now).state for one in whole}
    assert set(states.values()) == {
        PlanState.CURRENT, PlanState.SUPERSEDED, PlanState.WITHDRAWN
    }  # fmt: skip
    after = max(one.plan.plan.valid_until for one in whole)
    for moment, state in [*((now, one) for one in EVERY), (after, PlanState.LAPSED)]:
        expected = {one.plan.plan.id for one in whole if plan_now(one.plan, moment).state == state}
        sieve = Sieve(now=moment, states=frozenset({state}))
        found = await house.store.find_plans(house.by.org, look(by, down=True, sieve=sieve))
        assert keys(found) == keys(whole)
        assert [one.begin for one in found] == [one.begin for one in whole]
        assert {one.plan.plan.id for one in found if isinstance(one, FoundPlan)} == expected
        passed = {one.id for one in found if isinstance(one, PassedPlan)}
        places = {
            one.plan.plan.id: (
                one.plan.plan.valid_from if by is By.OBSERVED else one.plan.events[-1].at
            )
            for one in whole
        }
        assert all(one.at == places[one.id] for one in found if isinstance(one, PassedPlan))
        assert passed == {one.plan.plan.id for one in whole} - expected


async def test_only_the_place_is_given_of_plans_that_end_before(house: House) -> None:
    await ward(house)
    whole = await plans_of(house, look(By.OBSERVED, down=True))
    ends = sorted({one.plan.plan.valid_until for one in whole})
    assert len(ends) > 2
    for number, end in enumerate(ends):
        sieve = Sieve(now=house.clock(), states=EVERY, ends_from=end)
        found = await plans_of(house, look(By.OBSERVED, down=True, sieve=sieve))
        assert {one.plan.plan.valid_until for one in found} == set(ends[number:])


async def glanced(house: House, by: By, now: datetime) -> dict[str, SeenPlan]:
    found = await house.store.find_plans(house.by.org, look(by, down=True, glance=now))
    return {one.id: one for one in found if isinstance(one, SeenPlan)}


@pytest.mark.parametrize("by", list(By))
async def test_a_glance_at_a_plan_gives_what_reading_it_gives(house: House, by: By) -> None:
    first, second = await ward(house)
    house.clock.go_on(seconds=1)
    newest = (await plans_of(house, look(By.OBSERVED, down=True)))[0]
    await house.store.withdraw(house.withdrawal(newest.record.id, None))
    house.clock.go_on(seconds=1)
    await house.store.merge(Merge(house.by, house.request(), second, first))
    now = house.clock()
    whole = await plans_of(house, look(by, down=True))
    seen = await glanced(house, by, now)
    assert seen.keys() == {one.plan.plan.id for one in whole}
    states = set()
    for one in whole:
        plan, glance = plan_now(one.plan, now), seen[one.plan.plan.id]
        assert (glance.begin, glance.cursor) == (one.begin, one.cursor)
        assert (glance.state, glance.ended_early) == (plan.state, False)
        assert (glance.valid_from, glance.valid_until) == (plan.valid_from, plan.valid_until)
        moments = [one.record.recorded_at, *(event.at for event in one.plan.events)]
        assert glance.changed_at == max(moments)
        states.add(plan.state)
    assert states == {PlanState.CURRENT, PlanState.SUPERSEDED, PlanState.WITHDRAWN}


async def test_a_plan_whose_end_is_still_to_be_written_down_is_read_whole(house: House) -> None:
    kept = await house.store.keep(house.new("A", 0))
    plan = kept.plan.plan
    after = look(By.OBSERVED, down=True, glance=plan.valid_until)
    (found,) = await house.store.find_plans(house.by.org, after)
    assert isinstance(found, FoundPlan)
    await house.store.lapse(house.by, plan.id, plan.valid_until, house.request())
    (seen,) = await house.store.find_plans(house.by.org, after)
    assert isinstance(seen, SeenPlan)
    assert (seen.state, seen.ended_early) == (PlanState.LAPSED, False)


async def test_a_plan_that_somebody_ended_is_seen_to_have_ended_early(house: House) -> None:
    plan = (await house.store.keep(house.new("A", 0))).plan.plan
    ended = await house.store.end(Ending(house.by, house.request(), plan.id, None, "A fall."))
    assert ended.events[-1].kind == PlanEventKind.LAPSED
    seen = await glanced(house, By.CHANGED, house.clock())
    assert (seen[plan.id].state, seen[plan.id].ended_early) == (PlanState.LAPSED, True)
    assert seen[plan.id].changed_at == ended.events[-1].at


async def test_a_glance_and_a_sieve_go_together(house: House) -> None:
    await ward(house)
    now = house.clock()
    sieve = Sieve(now=now, states=frozenset({PlanState.CURRENT}))
    asked = look(By.OBSERVED, down=True, sieve=sieve, glance=now)
    found = await house.store.find_plans(house.by.org, asked)
    whole = await plans_of(house, look(By.OBSERVED, down=True))
    assert keys(found) == keys(whole)
    current = {one.plan.plan.id for one in whole if one.plan.is_current}
    assert {one.id for one in found if isinstance(one, SeenPlan)} == current


async def test_a_glance_decodes_no_document(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    await ward(house)
    now = house.clock()

    def decode(*_: object) -> None:
        raise AssertionError("A document was decoded.")

    for place in ("service.storage.kept.decode_plan", "service.storage.search_reads.decode_screen"):
        monkeypatch.setattr(place, decode)
    assert len(await glanced(house, By.OBSERVED, now)) == 5


async def test_another_organisation_has_none(house: House) -> None:
    await ward(house)
    asked = look(By.OBSERVED, down=True, glance=house.clock())
    assert await house.store.find_plans("other", asked) == ()
