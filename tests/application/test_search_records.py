"""Is much read at once as it stands now, inside one organisation, and all of it noted?"""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from service.application import search_records as search
from service.application.correct_screen import correct_screen
from service.application.patients import merge_patients
from service.application.search_ports import By, FoundPlan, Look, PassedPlan, SeenPlan, Sieve
from service.application.withdraw_screen import withdraw_screen
from service.domain.plan import PlanState
from service.domain.problem import NotFound, Unavailable
from service.domain.record import PlanEventKind, ScreenStatus
from tests.application.made import NOWHERE, House, later, of
from tests.rules.screens import PATIENT

ALL = Look(by=By.OBSERVED, newest_first=True, limit=10)


async def test_a_merged_patient_is_asked_for_as_the_one_that_stays(house: House) -> None:
    first = (await house.recorded()).screen.patient_id
    second = (await house.recorded(of("H-2", 1))).screen.patient_id
    await merge_patients(house.service, house.call, first, second)
    roots = await search.roots_of(house.service, house.call, (first, second, NOWHERE))
    assert roots == (second,)


async def test_a_patient_is_found_by_identifier_whoever_issued_it_or_by_whom(house: House) -> None:
    patient = (await house.recorded()).screen.patient_id
    known = PATIENT.identifier
    for system in (None, known.system):
        found = await search.known_by(house.service, house.call, system, known.value)
        assert [one.id for one in found] == [patient]
    assert await search.known_by(house.service, house.call, "urn:other", known.value) == ()
    assert await search.known_by(house.service, house.stranger, None, known.value) == ()


async def test_screens_are_found_newest_first_and_by_their_changes(house: House) -> None:
    first = (await house.recorded()).screen
    house.clock.now += timedelta(minutes=1)
    second = (await house.recorded(later(1))).screen
    house.clock.now += timedelta(minutes=1)
    await correct_screen(house.service, house.call, first.id, 1, "wrong minute", later(2))
    found = await search.found_screens(house.service, house.call, ALL)
    assert [one.versions[-1].screen.id for one in found] == [first.id, second.id]
    changed = Look(by=By.CHANGED, newest_first=False, limit=10)
    found = await search.found_screens(house.service, house.call, changed)
    told = [(one.versions[-1].screen.id, one.version) for one in found]
    assert told == [(first.id, 1), (second.id, 1), (first.id, 2)]
    assert await search.found_screens(house.service, house.stranger, ALL) == ()


async def test_a_plan_that_ran_out_is_written_down_as_lapsed_before_it_is_shown(
    house: House,
) -> None:
    plan = (await house.recorded()).plan
    house.clock.now = plan.valid_until
    (found,) = await search.found_plans(house.service, house.call, ALL)
    assert isinstance(found, FoundPlan)
    assert found.plan.events[-1].kind == PlanEventKind.LAPSED
    assert house.events(plan.id) == [PlanEventKind.CREATED, PlanEventKind.LAPSED]
    assert await search.found_plans(house.service, house.call, ALL) == (found,)
    one = await search.plan_behind(house.service, house.call, plan.id)
    assert one is not None and one.plan == found.plan


async def test_a_plan_that_is_passed_over_is_not_written_to(house: House) -> None:
    plan = (await house.recorded()).plan
    house.clock.now = plan.valid_until
    sieve = Sieve(now=house.clock.now, states=frozenset({PlanState.CURRENT}))
    found = await search.found_plans(house.service, house.call, replace(ALL, sieve=sieve))
    assert [one.id for one in found if isinstance(one, PassedPlan)] == [plan.id]
    assert house.events(plan.id) == [PlanEventKind.CREATED]


async def test_a_plan_that_is_only_glanced_at_is_not_read_unless_its_end_is_to_be_written_down(
    house: House,
) -> None:
    plan = (await house.recorded()).plan
    glance = replace(ALL, glance=house.clock.now)
    (seen,) = await search.found_plans(house.service, house.call, glance)
    assert isinstance(seen, SeenPlan)
    assert (seen.id, seen.state, seen.ended_early) == (plan.id, PlanState.CURRENT, False)
    house.clock.now = plan.valid_until
    glance = replace(ALL, glance=house.clock.now)
    (found,) = await search.found_plans(house.service, house.call, glance)
    assert isinstance(found, FoundPlan)
    assert house.events(plan.id) == [PlanEventKind.CREATED, PlanEventKind.LAPSED]
    (seen,) = await search.found_plans(house.service, house.call, glance)
    assert isinstance(seen, SeenPlan)
    assert (seen.state, seen.changed_at) == (PlanState.LAPSED, found.plan.events[-1].at)


async def test_a_plan_that_ran_out_is_shown_though_that_cannot_be_written_down(
    house: House,
) -> None:
    plan = (await house.recorded()).plan
    house.clock.now = plan.valid_until
    house.records.busy = True
    found = await search.plan_behind(house.service, house.call, plan.id)
    assert found is not None
    assert [event.kind for event in found.plan.events] == [PlanEventKind.CREATED]


async def test_a_superseded_plan_does_not_lapse(house: House) -> None:
    plan = (await house.recorded()).plan
    await house.recorded(later(1))
    house.clock.now = plan.valid_until + timedelta(days=1)
    found = await search.plan_behind(house.service, house.call, plan.id)
    assert found is not None
    assert [event.kind for event in found.plan.events][-1] == PlanEventKind.SUPERSEDED


async def test_a_plan_of_another_organisation_is_not_there(house: House) -> None:
    plan = (await house.recorded()).plan
    assert await search.plan_behind(house.service, house.stranger, plan.id) is None


async def test_all_versions_of_a_screen_come_oldest_first(house: House) -> None:
    screen = (await house.recorded()).screen.id
    await withdraw_screen(house.service, house.call, screen, None, "wrong person")
    found = await search.screen_versions(house.service, house.call, screen)
    assert [one.record.status for one in found] == [ScreenStatus.FINAL, ScreenStatus.WITHDRAWN]
    assert await search.screen_versions(house.service, house.stranger, screen) == ()


async def test_each_patient_shown_is_noted_once_and_nobody_shown_is_noted_too(
    house: House,
) -> None:
    await search.noted(house.service, house.call, "observation.search", ["p-1", "p-2", "p-1"])
    assert house.told() == [
        ("observation.search", "ok", "p-1", None),
        ("observation.search", "ok", "p-2", None),
    ]
    await search.noted(house.service, house.call, "observation.search", [])
    assert house.told_last() == ("observation.search", "ok", None, None)


async def test_nothing_is_shown_when_it_cannot_be_noted(house: House) -> None:
    house.records.busy = True
    with pytest.raises(Unavailable):
        await search.noted(house.service, house.call, "observation.search", ["p-1"])


async def test_what_is_not_there_is_noted_as_not_found(house: House) -> None:
    problem = await search.missed(house.service, house.call, "goal.read", "No such Goal.")
    assert isinstance(problem, NotFound)
    assert house.told_last() == ("goal.read", "not_found", None, None)
