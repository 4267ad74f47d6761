"""Does each axis get the grade that the findings and orders give it?"""

from decimal import Decimal

import pytest

from service.domain.axis import Axis
from service.domain.orders import Precaution
from service.domain.profile import AxisGrade
from service.domain.readiness import Cooperation, Instructions
from service.domain.stages import (
    Attempt,
    Help,
    KneeExtension,
    KneeStrength,
    Outcome,
    Rise,
    Sides,
    SittingBalance,
)
from service.rules import axes
from service.rules.load import load_book
from tests.rules.screens import (
    ABLE,
    CUED,
    FAILED,
    UNTRIED,
    orders,
    readiness,
    screen,
    stages,
)

BOOK = load_book()
STEADIED = Attempt(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.STEADYING)


@pytest.mark.parametrize(
    ("rass", "instructions", "cooperation", "grade"),
    [
        (0, "two_step", "cooperative", "full"),
        (-1, "two_step", "cooperative", "full"),
        (1, "two_step", "cooperative", "full"),
        (0, "one_step", "cooperative", "prompted"),
        (0, "two_step", "needs_prompting", "prompted"),
        (0, "one_step", "needs_prompting", "prompted"),
        (-2, "two_step", "cooperative", "none"),
        (2, "two_step", "cooperative", "none"),
        (0, "none", "cooperative", "none"),
        (0, "two_step", "unpredictable", "none"),
        (0, "two_step", "combative", "none"),
        (None, "none", None, "none"),
        (2, None, None, "none"),
        (None, None, "combative", "none"),
        (None, "two_step", "cooperative", "unknown"),
        (0, None, "cooperative", "unknown"),
        (0, "two_step", None, "unknown"),
    ],
)
def test_cooperation_is_what_is_calm_followed_and_offered(
    rass: int | None, instructions: str | None, cooperation: str | None, grade: str
) -> None:
    seen = readiness(
        rass=rass,
        instructions=None if instructions is None else Instructions(instructions),
        cooperation=None if cooperation is None else Cooperation(cooperation),
    )
    assert axes.cooperation(BOOK, seen).grade == grade


def test_nobody_cooperates_under_anaesthesia() -> None:
    assert axes.cooperation(BOOK, readiness(anaesthetised=True)).grade == "none"


@pytest.mark.parametrize(
    ("sat", "grade"),
    [
        (SittingBalance(outcome=Outcome.ACHIEVED, seconds=Decimal(10)), "unsupported"),
        (SittingBalance(outcome=Outcome.ACHIEVED, seconds=Decimal("9.9")), "supported"),
        (SittingBalance(outcome=Outcome.ACHIEVED), "supported"),
        (
            SittingBalance(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.CUE, seconds=Decimal(30)),
            "supported",
        ),
        (SittingBalance(outcome=Outcome.NOT_ACHIEVED), "none"),
        (SittingBalance(), "unknown"),
    ],
)
def test_sitting_ten_seconds_hands_off_is_unsupported(sat: SittingBalance, grade: str) -> None:
    assert axes.sitting(BOOK, stages(sitting_balance=sat)).grade == grade


@pytest.mark.parametrize(
    ("leant", "grade"),
    [(ABLE, "able"), (CUED, "helped"), (FAILED, "none"), (UNTRIED, "unknown")],
)
def test_lean_is_able_helped_none_or_unknown(leant: Attempt, grade: str) -> None:
    assert axes.lean(BOOK, stages(forward_lean=leant)).grade == grade


@pytest.mark.parametrize(
    ("left", "right", "grade"),
    [
        (ABLE, ABLE, "able"),
        (ABLE, CUED, "helped"),
        (STEADIED, ABLE, "helped"),
        (ABLE, FAILED, "none"),
        (FAILED, CUED, "none"),
        (FAILED, UNTRIED, "none"),
        (ABLE, UNTRIED, "unknown"),
        (CUED, UNTRIED, "unknown"),
        (UNTRIED, UNTRIED, "unknown"),
    ],
)
def test_the_weaker_side_decides(left: Attempt, right: Attempt, grade: str) -> None:
    graded = axes.sided(BOOK, Axis.HEEL, "heel_raise", Sides(left=left, right=right))
    assert graded.grade == grade
    assert [finding.path for finding in graded.set_by] == [
        "/stages/heel_raise/left/outcome",
        "/stages/heel_raise/right/outcome",
    ]


def knees(left: int | None, right: int | None, *lost: Precaution) -> tuple[str, str]:
    extended = KneeExtension(left=KneeStrength(mrc_grade=left), right=KneeStrength(mrc_grade=right))
    seen = screen(stages=stages(knee_extension=extended).stages, orders=orders(*lost).orders)
    stronger, weaker = axes.knees(BOOK, seen)
    return stronger.grade, weaker.grade


def test_the_knees_are_graded_stronger_and_weaker() -> None:
    assert knees(4, 2) == ("4", "2")
    assert knees(0, 5) == ("5", "0")


def test_a_knee_not_graded_leaves_the_weaker_one_unknown() -> None:
    assert knees(None, 3) == ("3", "unknown")
    assert knees(None, None) == ("unknown", "unknown")


def test_of_one_remaining_leg_the_knee_is_both() -> None:
    assert knees(5, 3, Precaution.AMPUTATION_LEFT_LEG) == ("3", "3")


def test_without_legs_no_knee_is_known() -> None:
    both = (Precaution.AMPUTATION_LEFT_LEG, Precaution.AMPUTATION_RIGHT_LEG)
    assert knees(5, 5, *both) == ("unknown", "unknown")


RISES = [
    (Rise(outcome=Outcome.ACHIEVED, hands_used=False), "without_hands"),
    (Rise(outcome=Outcome.ACHIEVED, hands_used=True), "with_hands"),
    (Rise(outcome=Outcome.ACHIEVED), "with_hands"),
    (Rise(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.CUE), "with_hands"),
    (Rise(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.STEADYING), "steadied"),
    (Rise(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.LIFTING), "lifted"),
    (Rise(outcome=Outcome.ACHIEVED_WITH_HELP), "lifted"),
    (Rise(outcome=Outcome.NOT_ACHIEVED), "none"),
    (Rise(), "unknown"),
]


@pytest.mark.parametrize(("risen", "grade"), RISES)
def test_rise_is_graded_by_the_help_it_took(risen: Rise, grade: str) -> None:
    assert axes.rise(BOOK, stages(rise=risen)).grade == grade


def test_a_rise_names_the_help_and_the_hands_it_was_read_from() -> None:
    def paths(graded: AxisGrade) -> list[str]:
        return [finding.path.removeprefix("/stages/rise/") for finding in graded.set_by]

    helped = Rise(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.CUE)
    assert paths(axes.rise(BOOK, stages(rise=helped))) == ["outcome", "help"]
    assert paths(axes.rise(BOOK, screen())) == ["outcome", "hands_used"]
