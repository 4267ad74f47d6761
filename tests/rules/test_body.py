"""Are the numbers of a person read from the screen, and rounded towards caution?"""

from decimal import Decimal
from typing import Any

import pytest

from service.domain.axis import Number
from service.domain.condition import Condition
from service.domain.profile import NumberSeen
from service.domain.screen import Screen
from service.domain.stages import Attempt, Help, Outcome, Rise, Sides, SittingBalance
from service.rules.body import mass_unknown, numbers_of, very_heavy
from service.rules.load import load_book
from tests.rules.screens import patient, screen, stages, stood

BOOK = load_book()
SIZES = ["/patient/mass_kg", "/patient/stature_cm"]


def number(seen: Screen, which: Number) -> Decimal | None:
    return numbers_of(BOOK, seen)[which].value


def lifted(kg: str | None) -> dict[str, Any]:
    lift = None if kg is None else Decimal(kg)
    return {"outcome": Outcome.ACHIEVED_WITH_HELP, "help": Help.LIFTING, "lift_kg": lift}


def test_every_number_is_told() -> None:
    assert set(numbers_of(BOOK, screen())) == set(Number)


def test_loads_are_rounded_up_and_times_down() -> None:
    assert number(patient(mass_kg=Decimal("76.91")), Number.MASS_KG) == Decimal("77.0")
    assert number(stages(timed_stand=stood("29.99")), Number.STANDING_TIME_S) == Decimal("29.9")
    risen = stages(rise=Rise(**lifted("15.91")))
    assert number(risen, Number.HELPER_LIFT_KG) == Decimal("16.0")


def test_a_leg_is_15_7_percent_of_the_mass() -> None:
    assert number(patient(mass_kg=Decimal(100)), Number.LEG_MASS_KG) == Decimal("15.7")
    assert number(patient(mass_kg=Decimal(64)), Number.LEG_MASS_KG) == Decimal("10.1")
    assert number(patient(mass_kg=Decimal("64.4")), Number.LEG_MASS_KG) == Decimal("10.2")


def test_what_was_not_recorded_is_not_known() -> None:
    unweighed = patient(mass_kg=None)
    assert number(unweighed, Number.MASS_KG) is None
    assert number(unweighed, Number.LEG_MASS_KG) is None
    assert number(stages(timed_stand=stood(None)), Number.STANDING_TIME_S) is None


def test_nothing_was_lifted_when_all_was_done_alone() -> None:
    assert numbers_of(BOOK, screen())[Number.HELPER_LIFT_KG] == NumberSeen(Decimal("0.0"))


def test_the_heavier_lift_of_the_body_counts() -> None:
    seen = stages(sitting_balance=SittingBalance(**lifted("12")), rise=Rise(**lifted("20")))
    told = numbers_of(BOOK, seen)[Number.HELPER_LIFT_KG]
    assert told.value == Decimal(20)
    assert [finding.path for finding in told.set_by] == [
        "/stages/sitting_balance/lift_kg",
        "/stages/rise/lift_kg",
    ]


def test_a_foot_or_a_hand_that_is_lifted_is_no_load_of_the_body() -> None:
    foot = Sides(left=Attempt(**lifted("4")), right=Attempt(**lifted(None)))
    assert number(stages(foot_lift=foot, arm_pull=foot), Number.HELPER_LIFT_KG) == 0


def test_a_lift_nobody_estimated_is_not_known_whatever_else_was() -> None:
    seen = stages(sitting_balance=SittingBalance(**lifted("4")), rise=Rise(**lifted(None)))
    assert number(seen, Number.HELPER_LIFT_KG) is None


@pytest.mark.parametrize("sat", [{"outcome": Outcome.ACHIEVED}, lifted("3")])
def test_the_lift_is_not_known_while_nobody_has_seen_a_rise(sat: dict[str, Any]) -> None:
    sitting = SittingBalance(**sat)
    told = numbers_of(BOOK, stages(rise=Rise(), sitting_balance=sitting))[Number.HELPER_LIFT_KG]
    assert told.value is None
    assert [finding.path for finding in told.set_by] == ["/stages/rise/outcome"]
    failed = stages(rise=Rise(outcome=Outcome.NOT_ACHIEVED), sitting_balance=sitting)
    assert number(failed, Number.HELPER_LIFT_KG) is None


def test_a_mass_not_recorded_is_a_finding() -> None:
    (found,) = mass_unknown(BOOK, patient(mass_kg=None))
    assert (found.rule, found.seen) == (Condition.MASS_UNKNOWN, "not recorded")
    assert mass_unknown(BOOK, screen()) == ()


@pytest.mark.parametrize(
    ("mass", "stature", "paths"),
    [
        ("136.1", "150", []),  # the mass must be above 136.1
        ("136.2", "165", SIZES),  # 50.03
        ("144.5", "170", []),  # 50.0 exactly
        ("144.6", "170", SIZES),
        ("200", "205", []),  # 47.6
        ("136.2", None, SIZES),
        ("136.1", None, []),
        (None, "170", SIZES),
        (None, None, SIZES),
    ],
)
def test_very_heavy_is_mass_and_bmi_above_their_limits_or_not_known(
    mass: str | None, stature: str | None, paths: list[str]
) -> None:
    seen = patient(
        mass_kg=None if mass is None else Decimal(mass),
        stature_cm=None if stature is None else Decimal(stature),
    )
    found = very_heavy(BOOK, seen)
    assert [finding.path for finding in found] == paths
