"""Do the rules refuse what makes no sense, and know what the person scored before?"""

from datetime import timedelta
from decimal import Decimal

import pytest
from msgspec.structs import replace

from service.application.assess import assess
from service.domain.problem import Refused, Unavailable
from service.domain.screen import Screen
from service.rules.features import pack
from tests.application.made import MORNING, NOWHERE, House, later, of, walked
from tests.rules.screens import PATIENT, SCREEN, screen


async def _difference(house: House, content: Screen) -> Decimal | None:
    made = await assess(house.service, house.call, content, NOWHERE, 1)
    change = made.tests[0].change
    return None if change is None else change.difference


async def test_a_screen_without_sense_is_refused_with_the_place_of_every_fault(
    house: House,
) -> None:
    child = replace(PATIENT, age_years=17)
    content = screen(patient=child, observed_at=MORNING + timedelta(hours=1))
    with pytest.raises(Refused) as refused:
        await assess(house.service, house.call, content, NOWHERE, 1)
    assert [(fault.path, fault.rule) for fault in refused.value.faults] == [
        ("/patient/age_years", "sense.adults_only"),
        ("/observed_at", "sense.observed_in_future"),
    ]


async def test_what_lies_in_the_future_depends_on_the_clock_it_was_given(house: House) -> None:
    content = screen(observed_at=MORNING + timedelta(hours=1))
    house.clock.now = MORNING + timedelta(hours=1)
    made = await assess(house.service, house.call, content, NOWHERE, 1)
    assert made.plan.valid_from == content.observed_at


async def test_the_plan_has_an_id_of_its_own_and_names_the_screen_version(house: House) -> None:
    made = await assess(house.service, house.call, SCREEN, NOWHERE, 7)
    again = await assess(house.service, house.call, SCREEN, NOWHERE, 7)
    assert (made.plan.screen_id, made.plan.screen_version) == (NOWHERE, 7)
    assert made.plan.patient_id == ""
    assert made.plan.id < again.plan.id
    assert made.plan == replace(again.plan, id=made.plan.id)


async def test_the_features_are_those_of_the_profile(house: House) -> None:
    made = await assess(house.service, house.call, SCREEN, NOWHERE, 1)
    assert made.features == pack(made.profile)


async def test_a_screen_without_tests_asks_the_record_for_none(house: House) -> None:
    house.records.torn = True
    made = await assess(house.service, house.call, SCREEN, NOWHERE, 1)
    assert made.tests == ()
    with pytest.raises(Unavailable):
        await assess(house.service, house.call, walked("11"), NOWHERE, 1)


async def test_an_earlier_score_of_the_same_person_gives_the_change_since(house: House) -> None:
    await house.recorded(walked("18"))
    made = await assess(house.service, house.call, walked("14", minutes=10), NOWHERE, 1)
    change = made.tests[0].change
    assert change is not None
    assert (change.since, change.earlier_score) == (SCREEN.observed_at, Decimal(18))
    assert change.difference == Decimal(-4)
    assert [claim.claim for claim in change.claims] == ["real"]


async def test_a_first_score_has_no_change(house: House) -> None:
    await house.recorded(later(-5))
    assert await _difference(house, walked("14")) is None


async def test_a_score_of_another_person_or_from_afterwards_is_no_earlier_score(
    house: House,
) -> None:
    await house.recorded(replace(of("p-2", -9), tests=walked("18").tests))
    await house.recorded(walked("18", minutes=5))
    assert await _difference(house, walked("14")) is None


async def test_another_organisation_learns_nothing_of_earlier_scores(house: House) -> None:
    await house.recorded(walked("18"))
    made = await assess(house.service, house.stranger, walked("14", minutes=10), NOWHERE, 1)
    assert made.tests[0].change is None
