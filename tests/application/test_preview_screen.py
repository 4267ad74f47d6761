"""Is a preview the answer that recording would give, with nothing kept?"""

import pytest
from msgspec.structs import replace

from service.application.preview_screen import preview_screen
from service.domain.problem import Refused
from service.domain.record import ScreenStatus
from tests.application.made import MORNING, WARD, House, walked
from tests.rules.screens import SCREEN, patient


async def test_a_preview_answers_as_recording_does_but_for_the_ids(house: House) -> None:
    seen = await preview_screen(house.service, house.call, SCREEN)
    kept = await house.recorded()
    assert seen.profile == kept.profile
    assert seen.tests == kept.tests
    assert seen.rule_book == kept.rule_book
    assert seen.plan == replace(kept.plan, id=seen.plan.id, screen_id=seen.screen.id, patient_id="")
    assert seen.screen == replace(kept.screen, id=seen.screen.id, patient_id="")


async def test_a_preview_is_a_first_version_of_now_by_the_caller(house: House) -> None:
    record = (await preview_screen(house.service, house.call, SCREEN)).screen
    assert (record.version, record.status) == (1, ScreenStatus.FINAL)
    assert (record.recorded_at, record.recorded_by) == (MORNING, WARD.name)
    assert record.content == SCREEN


async def test_a_preview_keeps_nothing_but_an_audit_entry(house: House) -> None:
    await preview_screen(house.service, house.call, SCREEN)
    assert house.kept_nothing()
    assert house.told() == [("screen.preview", "ok", None, None)]


async def test_a_preview_compares_with_earlier_scores_and_is_none_itself(house: House) -> None:
    await house.recorded(walked("18"))
    for _ in range(2):
        seen = await preview_screen(house.service, house.call, walked("14", minutes=5))
        change = seen.tests[0].change
        assert change is not None
        assert change.since == SCREEN.observed_at


async def test_a_preview_is_refused_as_recording_is(house: House) -> None:
    with pytest.raises(Refused) as refused:
        await preview_screen(house.service, house.call, patient(age_years=17))
    assert [fault.path for fault in refused.value.faults] == ["/patient/age_years"]
    assert house.kept_nothing()
    assert house.told() == []
