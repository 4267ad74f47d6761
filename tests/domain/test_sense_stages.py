"""Are contradictions between stages named at both places, and honest screens left alone?"""

from decimal import Decimal
from typing import Any

import pytest

from service.domain.sense_stages import stage_faults
from service.domain.stages import (
    Attempt,
    Help,
    KneeExtension,
    KneeStrength,
    Outcome,
    Rise,
    Sides,
    Sign,
    SignSeen,
    SittingBalance,
    Stage,
    Stages,
    StandEnd,
    TimedStand,
)

FAILED = Attempt(outcome=Outcome.NOT_ACHIEVED)
DONE = Attempt(outcome=Outcome.ACHIEVED)
HELPED = Attempt(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.CUE)
NOT_TRIED = Attempt()
ROSE = Rise(outcome=Outcome.ACHIEVED)


def found(stages: Stages, signs: list[SignSeen] | None = None) -> list[tuple[str, str]]:
    return [(fault.path, fault.rule) for fault in stage_faults(stages, signs or [])]


def both(attempt: Attempt) -> Sides:
    return Sides(left=attempt, right=attempt)


@pytest.mark.parametrize(
    ("attempt", "expected"),
    [
        (Attempt(outcome=Outcome.ACHIEVED_WITH_HELP), [("help", "sense.help_missing")]),
        (
            Attempt(outcome=Outcome.ACHIEVED, help=Help.CUE),
            [("help", "sense.help_unexpected")],
        ),
        (Attempt(lift_kg=Decimal(5)), [("lift_kg", "sense.lift_unexpected")]),
        (
            Attempt(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.STEADYING, lift_kg=Decimal(5)),
            [("lift_kg", "sense.lift_unexpected")],
        ),
        (
            Attempt(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.LIFTING, lift_kg=Decimal(5)),
            [],
        ),
    ],
)
def test_help_and_lift_stand_only_where_help_was_given(
    attempt: Attempt, expected: list[tuple[str, str]]
) -> None:
    for stages, path in (
        (Stages(forward_lean=attempt), "/stages/forward_lean"),
        (Stages(arm_pull=Sides(right=attempt)), "/stages/arm_pull/right"),
    ):
        assert found(stages) == [(f"{path}/{name}", rule) for name, rule in expected]


def test_a_stage_not_attempted_has_neither_seconds_nor_hands() -> None:
    stages = Stages(sitting_balance=SittingBalance(seconds=Decimal(3)), rise=Rise(hands_used=False))
    assert found(stages) == [
        ("/stages/sitting_balance/seconds", "sense.seconds_not_attempted"),
        ("/stages/rise/hands_used", "sense.hands_not_attempted"),
    ]
    tried = Stages(
        sitting_balance=SittingBalance(outcome=Outcome.NOT_ACHIEVED, seconds=Decimal(3)),
        rise=Rise(outcome=Outcome.NOT_ACHIEVED, hands_used=True),
    )
    assert found(tried) == []


@pytest.mark.parametrize("outcome", [Outcome.NOT_ACHIEVED, Outcome.NOT_ATTEMPTED])
@pytest.mark.parametrize("later", ["weight_shift", "heel_raise", "foot_lift"])
@pytest.mark.parametrize("reached", [DONE, HELPED])
def test_a_later_stage_achieved_without_a_rise_names_both_places(
    outcome: Outcome, later: str, reached: Attempt
) -> None:
    parts: dict[str, Any] = {"rise": Rise(outcome=outcome), later: Sides(left=reached)}
    assert found(Stages(**parts)) == [
        ("/stages/rise/outcome", "sense.stop_rule"),
        (f"/stages/{later}/left/outcome", "sense.stop_rule"),
    ]


def test_a_stage_achieved_after_a_failed_one_names_every_place() -> None:
    stages = Stages(
        rise=ROSE, weight_shift=both(FAILED), heel_raise=both(DONE), foot_lift=Sides(right=DONE)
    )
    assert found(stages) == [
        ("/stages/weight_shift/left/outcome", "sense.stop_rule"),
        ("/stages/heel_raise/left/outcome", "sense.stop_rule"),
        ("/stages/heel_raise/right/outcome", "sense.stop_rule"),
        ("/stages/foot_lift/right/outcome", "sense.stop_rule"),
    ]


@pytest.mark.parametrize(
    "stages",
    [
        Stages(rise=ROSE, weight_shift=both(DONE), heel_raise=both(FAILED)),
        Stages(rise=ROSE, weight_shift=Sides(left=DONE, right=FAILED), heel_raise=both(DONE)),
        Stages(rise=ROSE, weight_shift=both(FAILED), heel_raise=both(FAILED)),
        Stages(rise=ROSE, weight_shift=both(NOT_TRIED), foot_lift=both(HELPED)),
        Stages(rise=Rise(outcome=Outcome.NOT_ACHIEVED), heel_raise=both(FAILED)),
        Stages(rise=ROSE, weight_shift=both(FAILED), timed_stand=TimedStand(seconds=Decimal(9))),
        Stages(timed_stand=TimedStand(seconds=Decimal(0), ended_by=StandEnd.PERSON_STOPPED)),
    ],
)
def test_what_the_stop_rule_allows_is_taken(stages: Stages) -> None:
    assert found(stages) == []


@pytest.mark.parametrize("outcome", [Outcome.NOT_ACHIEVED, Outcome.NOT_ATTEMPTED])
def test_time_stood_without_a_rise_names_both_places(outcome: Outcome) -> None:
    stages = Stages(rise=Rise(outcome=outcome), timed_stand=TimedStand(seconds=Decimal("0.5")))
    assert found(stages) == [
        ("/stages/rise/outcome", "sense.stand_without_rise"),
        ("/stages/timed_stand/seconds", "sense.stand_without_rise"),
    ]


def test_why_a_stand_ended_needs_its_seconds() -> None:
    stages = Stages(rise=ROSE, timed_stand=TimedStand(ended_by=StandEnd.PAIN))
    assert found(stages) == [("/stages/timed_stand/ended_by", "sense.end_without_seconds")]


ATTEMPTED = Stages(
    sitting_balance=SittingBalance(outcome=Outcome.NOT_ACHIEVED),
    forward_lean=FAILED,
    arm_pull=Sides(right=FAILED),
    knee_extension=KneeExtension(right=KneeStrength(mrc_grade=0)),
    rise=ROSE,
    weight_shift=Sides(left=DONE),
    heel_raise=Sides(left=DONE),
    foot_lift=Sides(left=DONE),
    timed_stand=TimedStand(seconds=Decimal(0)),
)


@pytest.mark.parametrize("stage", Stage)
def test_a_sign_needs_a_stage_that_was_attempted(stage: Stage) -> None:
    seen = [SignSeen(stage=stage, sign=Sign.PAIN)]
    assert found(ATTEMPTED, seen) == []
    assert found(Stages(), seen) == [("/signs/0/stage", "sense.sign_not_attempted")]


def test_the_left_knee_alone_counts_as_attempted() -> None:
    stages = Stages(knee_extension=KneeExtension(left=KneeStrength(mrc_grade=5)))
    assert found(stages, [SignSeen(stage=Stage.KNEE_EXTENSION, sign=Sign.PAIN)]) == []


def test_refusal_is_a_sign_of_a_stage_not_attempted() -> None:
    assert found(Stages(), [SignSeen(stage=Stage.RISE, sign=Sign.REFUSAL)]) == []


def test_a_sign_listed_twice_is_named() -> None:
    seen = SignSeen(stage=Stage.RISE, sign=Sign.PAIN)
    other = SignSeen(stage=Stage.RISE, sign=Sign.FATIGUE)
    assert found(Stages(rise=ROSE), [seen, other, seen]) == [("/signs/2", "sense.repeated")]
