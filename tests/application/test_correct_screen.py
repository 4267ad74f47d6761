"""Does a correction give a new version with a new plan, of the same person and sender's id?"""

import msgspec
import pytest

from service.application.correct_screen import correct_screen
from service.application.withdraw_screen import withdraw_screen
from service.domain.plan import PlanState
from service.domain.problem import Conflict, NotFound, Problem, Refused, StaleVersion
from service.domain.record import Answer, PlanEventKind, ScreenStatus
from service.domain.screen import Screen
from tests.application.made import NOWHERE, WARD, House, later, of, walked
from tests.rules.screens import SCREEN, patient

SENT = later(0, source_id="S-1")


async def _correct(house: House, screen: str, content: Screen, version: int = 1) -> Answer:
    return await correct_screen(house.service, house.call, screen, version, "wrong minute", content)


async def _refused(house: House, content: Screen, sent: Screen) -> list[tuple[str, str]]:
    """The faults of a correction of ``sent``, which changed nothing."""
    screen = (await house.recorded(sent)).screen.id
    with pytest.raises(Refused) as refused:
        await _correct(house, screen, content)
    assert len(house.records.screens[WARD.org, screen]) == len(house.records.plans) == 1
    return [(fault.path, fault.rule) for fault in refused.value.faults]


async def test_a_correction_is_a_new_version_with_a_new_plan(house: House) -> None:
    before = await house.recorded(SENT)
    content = later(1, source_id="S-1")
    after = await _correct(house, before.screen.id, content)
    assert (after.screen.id, after.screen.version) == (before.screen.id, 2)
    assert (after.screen.status, after.screen.correction_reason) == (
        ScreenStatus.AMENDED,
        "wrong minute",
    )
    assert after.screen.content == content
    assert (after.plan.screen_version, after.plan.replaces) == (2, before.plan.id)
    assert (after.plan.state, after.plan.valid_from) == (PlanState.CURRENT, content.observed_at)
    assert house.events(before.plan.id) == [PlanEventKind.CREATED, PlanEventKind.SUPERSEDED]
    patient_id, screen = before.screen.patient_id, before.screen.id
    assert house.told_last() == ("screen.correct", "ok", patient_id, screen)


async def test_a_correction_is_assessed_anew(house: House) -> None:
    before = await house.recorded(SCREEN)
    after = await _correct(house, before.screen.id, walked("14"))
    assert [score.score for score in after.tests] == [14]
    assert before.tests == ()


async def test_a_correction_is_not_held_against_what_it_corrects(house: House) -> None:
    """18 s corrected to 14 s and a later minute is a mended record, no improvement."""
    before = await house.recorded(walked("18"))
    moved = msgspec.structs.replace(walked("14"), observed_at=later(1).observed_at)
    after = await _correct(house, before.screen.id, moved)
    assert after.screen.content.observed_at > before.screen.content.observed_at
    assert [score.change for score in after.tests] == [None]


async def test_a_correction_cannot_change_whose_screen_it_is(house: House) -> None:
    faults = await _refused(house, of("p-2"), SCREEN)
    assert faults == [("/patient/identifier", "correction.unchanged")]


@pytest.mark.parametrize("source_id", ["S-2", None])
async def test_a_correction_cannot_change_or_drop_the_senders_id(
    house: House, source_id: str | None
) -> None:
    faults = await _refused(house, later(1, source_id=source_id), SENT)
    assert faults == [("/source_id", "correction.unchanged")]


async def test_both_are_told_at_once(house: House) -> None:
    faults = await _refused(house, of("p-2"), SENT)
    assert [path for path, _ in faults] == ["/patient/identifier", "/source_id"]


async def test_a_correction_the_rules_refuse_changes_nothing(house: House) -> None:
    faults = await _refused(house, patient(age_years=17), SCREEN)
    assert faults == [("/patient/age_years", "sense.adults_only")]


async def test_a_correction_of_another_version_changes_nothing(house: House) -> None:
    screen = (await house.recorded()).screen.id
    await _correct(house, screen, later(1))
    with pytest.raises(StaleVersion):
        await _correct(house, screen, later(2))
    assert len(house.records.screens[WARD.org, screen]) == 2
    assert (await _correct(house, screen, later(2), 2)).screen.version == 3


async def test_a_screen_that_is_not_there_is_not_found_and_noted(house: House) -> None:
    with pytest.raises(NotFound):
        await _correct(house, NOWHERE, SCREEN)
    assert house.told_last() == ("screen.correct", "not_found", None, None)


async def test_a_withdrawn_screen_is_not_corrected(house: House) -> None:
    screen = (await house.recorded()).screen.id
    await withdraw_screen(house.service, house.call, screen, 1, "wrong person")
    with pytest.raises(Conflict):
        await _correct(house, screen, later(1), 2)


async def test_another_organisation_cannot_correct_the_screen(house: House) -> None:
    screen = (await house.recorded()).screen.id
    with pytest.raises(Problem) as problem:
        await correct_screen(house.service, house.stranger, screen, 1, "mischief", later(1))
    assert isinstance(problem.value, NotFound)
