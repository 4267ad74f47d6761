"""Is movement withheld, reviewed or clear where the published limits say so?"""

from decimal import Decimal
from typing import Any

import pytest

from service.domain.condition import Condition
from service.domain.context import Setting
from service.domain.orders import Activity, Precaution
from service.domain.profile import AxisGrade
from service.domain.readiness import Symptom, VitalSigns
from service.domain.screen import Screen
from service.rules.clearance import clearance, vital_signs_missing
from service.rules.conditions import conditions_of
from service.rules.load import load_book
from tests.rules.screens import orders, readiness, screen, vital_signs

BOOK = load_book()


def graded(seen: Screen) -> tuple[AxisGrade, AxisGrade]:
    return clearance(BOOK, seen, conditions_of(BOOK, seen, ()))


def grades(seen: Screen) -> tuple[str, str]:
    whole, upright = graded(seen)
    return whole.grade, upright.grade


def test_an_able_adult_is_clear_for_every_move() -> None:
    assert grades(screen()) == ("clear", "clear")
    assert [finding.path for finding in graded(screen())[0].set_by] == ["/readiness/rass"]


@pytest.mark.parametrize(
    ("sign", "last_clear", "beyond", "grade"),
    [
        ("spo2_percent", Decimal(90), Decimal("89.9"), "withhold"),
        ("mean_arterial_mmhg", 60, 59, "withhold"),
        ("systolic_mmhg", 90, 89, "withhold"),
        ("systolic_mmhg", 180, 181, "withhold"),
        ("respiratory_rate_per_min", 30, 31, "review"),
        ("fio2_fraction", Decimal("0.6"), Decimal("0.61"), "review"),
        ("heart_rate_per_min", 40, 39, "review"),
        ("heart_rate_per_min", 130, 131, "review"),
        ("temperature_celsius", Decimal("38.4"), Decimal("38.5"), "review"),
    ],
)
def test_a_vital_sign_beyond_its_limit_sets_the_grade(
    sign: str, last_clear: Any, beyond: Any, grade: str
) -> None:
    assert grades(vital_signs(**{sign: last_clear})) == ("clear", "clear")
    whole, upright = graded(vital_signs(**{sign: beyond}))
    assert (whole.grade, upright.grade) == (grade, grade)
    (finding,) = whole.set_by
    assert (finding.path, finding.seen) == (f"/readiness/vital_signs/{sign}", str(beyond))


def test_a_heart_above_150_withholds_and_at_150_is_reviewed() -> None:
    assert grades(vital_signs(heart_rate_per_min=150)) == ("review", "review")
    assert grades(vital_signs(heart_rate_per_min=151)) == ("withhold", "withhold")


def test_mean_pressure_under_its_own_target_withholds() -> None:
    assert grades(vital_signs(mean_arterial_target_mmhg=92)) == ("clear", "clear")
    assert grades(vital_signs(mean_arterial_target_mmhg=93)) == ("withhold", "withhold")
    unread = vital_signs(mean_arterial_target_mmhg=93, mean_arterial_mmhg=None)
    assert grades(unread) == ("clear", "clear")


def test_chest_pain_withholds_and_other_symptoms_do_not() -> None:
    assert grades(readiness(symptoms=[Symptom.NAUSEA])) == ("clear", "clear")
    whole, _ = graded(readiness(symptoms=[Symptom.NAUSEA, Symptom.CHEST_PAIN]))
    assert whole.grade == "withhold"
    assert [finding.path for finding in whole.set_by] == ["/readiness/symptoms/1"]


@pytest.mark.parametrize(
    ("rass", "whole", "upright"),
    [
        (4, "withhold", "withhold"),
        (3, "withhold", "withhold"),
        (2, "review", "review"),
        (1, "clear", "clear"),
        (-1, "clear", "clear"),
        (-2, "review", "review"),
        # deeply sedated: flat moves by the flat-move table, and only those
        (-3, "review", "withhold"),
        (-5, "review", "withhold"),
        (None, "unknown", "unknown"),
    ],
)
def test_how_awake_a_person_is_sets_the_grade(rass: int | None, whole: str, upright: str) -> None:
    assert grades(readiness(rass=rass)) == (whole, upright)


def test_what_withholds_outranks_what_is_not_known() -> None:
    unknown_and_low = readiness(rass=None, vital_signs=VitalSigns(spo2_percent=Decimal(80)))
    assert grades(unknown_and_low) == ("withhold", "withhold")
    unknown_and_fast = readiness(rass=None, vital_signs=VitalSigns(heart_rate_per_min=140))
    assert grades(unknown_and_fast) == ("unknown", "unknown")


@pytest.mark.parametrize(
    "seen",
    [
        orders(Precaution.SPINE_UNSTABLE),
        orders(Precaution.UNSTABLE_MAJOR_FRACTURE),
        readiness(anaesthetised=True),
    ],
)
def test_a_person_who_must_stay_flat_is_reviewed_lying_and_withheld_upright(
    seen: Screen,
) -> None:
    assert grades(seen) == ("review", "withhold")


def test_bed_rest_withholds_sitting_and_standing() -> None:
    whole, upright = graded(orders(activity=Activity.BED_REST))
    assert (whole.grade, upright.grade) == ("clear", "withhold")
    assert [finding.path for finding in upright.set_by] == ["/orders/activity"]


def test_a_drop_with_symptoms_is_reviewed_at_most() -> None:
    seen = screen(
        readiness=readiness(symptoms=[Symptom.FAINTNESS]).readiness,
        orders=orders(Precaution.POSTURAL_HYPOTENSION).orders,
    )
    assert grades(seen) == ("review", "review")


def test_where_the_setting_is_acute_vital_signs_are_expected() -> None:
    untaken = vital_signs(
        spo2_percent=None,
        heart_rate_per_min=None,
        respiratory_rate_per_min=None,
        systolic_mmhg=None,
    )
    (found,) = vital_signs_missing(BOOK, untaken)
    assert found.rule == Condition.VITAL_SIGNS_NOT_TAKEN
    assert grades(untaken) == ("review", "review")
    at_home = screen(readiness=untaken.readiness, setting=Setting.HOME)
    assert vital_signs_missing(BOOK, at_home) == ()
    assert grades(at_home) == ("clear", "clear")


@pytest.mark.parametrize(
    "one",
    [
        {"spo2_percent": Decimal(97)},
        {"heart_rate_per_min": 70},
        {"respiratory_rate_per_min": 16},
        {"systolic_mmhg": 120},
    ],
)
def test_one_vital_sign_taken_is_enough_not_to_ask(one: dict[str, Any]) -> None:
    assert vital_signs_missing(BOOK, readiness(vital_signs=VitalSigns(**one))) == ()
