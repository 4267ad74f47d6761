"""Is a screen read back as it was recorded, and every reading noted?"""

from datetime import timedelta

import pytest

from service.application.correct_screen import correct_screen
from service.application.read_screen import kept_screen, read_screen, screens_since
from service.domain.plan import PlanState
from service.domain.problem import NotFound, Unavailable
from tests.application.made import MORNING, NOWHERE, House, later
from tests.rules.screens import PATIENT, SCREEN


async def test_a_screen_reads_back_as_it_was_answered(house: House) -> None:
    answered = await house.recorded()
    assert await read_screen(house.service, house.call, answered.screen.id) == answered


async def test_a_screen_read_after_its_time_tells_that_the_plan_lapsed(house: House) -> None:
    answered = await house.recorded()
    house.clock.now = answered.plan.valid_until
    read = await read_screen(house.service, house.call, answered.screen.id)
    assert read.plan.state == PlanState.LAPSED
    assert read.screen == answered.screen


async def test_a_reading_is_noted_with_the_opaque_id_of_the_patient(house: House) -> None:
    answered = await house.recorded()
    await read_screen(house.service, house.call, answered.screen.id)
    patient, screen = answered.screen.patient_id, answered.screen.id
    assert house.told_last() == ("screen.read", "ok", patient, screen)
    assert PATIENT.identifier.value not in repr(house.records.entries)


async def test_each_version_stays_readable_and_the_newest_comes_unasked(house: House) -> None:
    first = (await house.recorded()).screen
    await correct_screen(house.service, house.call, first.id, 1, "wrong minute", later(1))
    newest = await read_screen(house.service, house.call, first.id)
    old = await read_screen(house.service, house.call, first.id, 1)
    assert (newest.screen.version, newest.screen.content) == (2, later(1))
    assert (old.screen.version, old.screen.content) == (1, SCREEN)
    assert old.plan.state == PlanState.SUPERSEDED


async def test_a_screen_or_version_that_is_not_there_is_not_found_and_noted(house: House) -> None:
    screen = (await house.recorded()).screen.id
    for wanted, version in ((NOWHERE, None), (screen, 2)):
        with pytest.raises(NotFound):
            await read_screen(house.service, house.call, wanted, version)
        assert house.told_last() == ("screen.read", "not_found", None, None)


async def test_another_organisation_does_not_find_the_screen(house: House) -> None:
    screen = (await house.recorded()).screen.id
    with pytest.raises(NotFound):
        await read_screen(house.service, house.stranger, screen)
    assert house.records.entries[-1].principal == house.stranger.principal


async def test_a_screen_is_not_shown_when_the_reading_cannot_be_noted(house: House) -> None:
    screen = (await house.recorded()).screen.id
    house.records.busy = True
    with pytest.raises(Unavailable):
        await read_screen(house.service, house.call, screen)


async def test_a_screen_taken_for_another_use_case_is_noted_by_that_one(house: House) -> None:
    answered = await house.recorded()
    before = house.told()
    kept = await kept_screen(house.service, house.call, answered.screen.id)
    assert kept.record == answered.screen
    assert house.told() == before


async def test_the_feed_gives_what_was_recorded_since_page_by_page(house: House) -> None:
    recorded = []
    for minute in range(4):
        house.clock.now = MORNING + timedelta(minutes=minute)
        recorded.append((await house.recorded(later(-minute))).screen)
    since = MORNING + timedelta(minutes=1)
    page = await screens_since(house.service, house.call, since, 2, None)
    assert page.items == tuple(recorded[1:3])
    assert house.told_last() == ("screen.list", "ok", recorded[1].patient_id, None)
    rest = await screens_since(house.service, house.call, since, 2, page.next)
    assert (rest.items, rest.next) == ((recorded[3],), None)


async def test_the_feed_of_another_organisation_is_empty(house: House) -> None:
    await house.recorded()
    page = await screens_since(house.service, house.stranger, MORNING, 10, None)
    assert (page.items, page.next) == ((), None)
