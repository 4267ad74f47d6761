"""Does the standing part end where it should, and close only what comes after?"""

import pytest

from service.domain.stages import Attempt, Outcome, Rise, Sides, Stage, Stages
from service.domain.stop_rule import STANDING, closed_stages, outcomes_of

DONE = Sides(left=Attempt(outcome=Outcome.ACHIEVED), right=Attempt(outcome=Outcome.ACHIEVED))
FAILED = Sides(
    left=Attempt(outcome=Outcome.NOT_ACHIEVED), right=Attempt(outcome=Outcome.NOT_ACHIEVED)
)
ONE_SIDE = Sides(left=Attempt(outcome=Outcome.NOT_ACHIEVED), right=DONE.right)
HALF_TRIED = Sides(left=Attempt(outcome=Outcome.NOT_ACHIEVED))
UP = Rise(outcome=Outcome.ACHIEVED)


def test_without_a_rise_everything_after_it_is_closed() -> None:
    later = (*STANDING[1:], Stage.TIMED_STAND)
    assert closed_stages(Stages()) == later
    assert closed_stages(Stages(rise=Rise(outcome=Outcome.NOT_ACHIEVED))) == later


@pytest.mark.parametrize("shift", [FAILED, HALF_TRIED])
def test_a_stage_failed_and_reached_on_no_side_closes_the_later_ones(shift: Sides) -> None:
    closed = closed_stages(Stages(rise=UP, weight_shift=shift))
    assert closed == (Stage.HEEL_RAISE, Stage.FOOT_LIFT)


@pytest.mark.parametrize("shift", [DONE, ONE_SIDE, Sides()])
def test_a_stage_reached_on_a_side_or_not_attempted_closes_nothing(shift: Sides) -> None:
    assert closed_stages(Stages(rise=UP, weight_shift=shift)) == ()


def test_the_last_stage_closes_nothing_and_standing_for_time_goes_on() -> None:
    assert closed_stages(Stages(rise=UP, foot_lift=FAILED)) == ()
    assert Stage.TIMED_STAND not in closed_stages(Stages(rise=UP, heel_raise=FAILED))


def test_outcomes_are_told_a_side_or_once() -> None:
    assert outcomes_of(Stages(rise=UP), Stage.RISE) == (Outcome.ACHIEVED,)
    assert outcomes_of(Stages(heel_raise=ONE_SIDE), Stage.HEEL_RAISE) == (
        Outcome.NOT_ACHIEVED,
        Outcome.ACHIEVED,
    )
