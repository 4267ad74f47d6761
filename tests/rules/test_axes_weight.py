"""Is weight-bearing the lower of what was seen and what is ordered?"""

import pytest

from service.domain.orders import Precaution
from service.domain.stages import Help, Outcome, Rise, Sides, Sign, SignSeen, Stage, StandEnd
from service.rules import axes
from service.rules.load import load_book
from tests.rules.screens import ABLE, CUED, limbs, orders, screen, stages, stood

BOOK = load_book()
ALONE = Rise(outcome=Outcome.ACHIEVED, hands_used=False)
STEADIED = Rise(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.STEADYING)
LIFTED = Rise(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.LIFTING)
FAILED = Rise(outcome=Outcome.NOT_ACHIEVED)


def seen_weight(
    seconds: str | None = "60",
    ended_by: StandEnd | None = None,
    risen: Rise = ALONE,
    sides: Sides | None = None,
) -> str:
    changed = {"rise": risen, "timed_stand": stood(seconds, ended_by)}
    return axes.seen_weight(BOOK, stages(**changed, **({"foot_lift": sides} if sides else {})))


def test_a_minute_stood_with_every_standing_stage_able_is_full_weight() -> None:
    assert seen_weight() == "full"
    assert seen_weight("59.9") == "partial"


@pytest.mark.parametrize("sides", [Sides(left=ABLE, right=CUED), Sides(left=ABLE), Sides()])
def test_a_standing_stage_short_of_able_is_part_weight(sides: Sides) -> None:
    assert seen_weight(sides=sides) == "partial"


def test_a_knee_that_gave_way_is_part_weight_at_most() -> None:
    assert seen_weight("60", StandEnd.KNEE_BUCKLING) == "partial"
    sign = SignSeen(stage=Stage.FOOT_LIFT, sign=Sign.KNEE_BUCKLING)
    assert axes.seen_weight(BOOK, screen(signs=[sign])) == "partial"
    other = SignSeen(stage=Stage.FOOT_LIFT, sign=Sign.FATIGUE)
    assert axes.seen_weight(BOOK, screen(signs=[other])) == "full"


def test_five_seconds_stood_are_part_weight_and_less_is_none() -> None:
    assert seen_weight("5", risen=STEADIED) == "partial"
    assert seen_weight("4.9") == "none"


def test_weight_is_not_known_where_nobody_stood() -> None:
    assert seen_weight(None) == "unknown"
    assert seen_weight(risen=Rise()) == "unknown"


@pytest.mark.parametrize("risen", [LIFTED, FAILED])
def test_a_rise_that_was_lifted_or_failed_bears_no_weight(risen: Rise) -> None:
    assert seen_weight(risen=risen) == "none"


@pytest.mark.parametrize(
    ("ordered", "seconds", "grade"),
    [
        ({}, "60", "full"),
        ({"left_leg": "WBAT", "right_leg": "FWB"}, "60", "full"),
        ({"left_leg": "PWB"}, "60", "partial"),
        ({"left_leg": "NWB"}, "60", "partial"),
        ({"left_leg": "PWB", "right_leg": "PWB"}, "60", "partial"),
        ({"left_leg": "NWB", "right_leg": "TTWB"}, "60", "none"),
        ({"left_leg": "NWB", "right_leg": "NWB"}, None, "none"),
        ({"left_leg": "PWB"}, "4", "none"),
        ({"left_leg": "PWB"}, None, "unknown"),
        ({}, None, "unknown"),
    ],
)
def test_weight_bearing_is_the_lower_of_seen_and_ordered(
    ordered: dict[str, str], seconds: str | None, grade: str
) -> None:
    seen = screen(
        orders=orders(weight_bearing=limbs(**ordered)).orders,
        stages=stages(timed_stand=stood(seconds)).stages,
    )
    assert axes.weight_bearing(BOOK, seen).grade == grade


def test_weight_bearing_names_the_orders_and_the_lost_leg_that_bind_it() -> None:
    seen = orders(
        Precaution.SPASMS,
        Precaution.AMPUTATION_LEFT_LEG,
        weight_bearing=limbs(right_leg="PWB"),
    )
    paths = [finding.path for finding in axes.weight_bearing(BOOK, seen).set_by]
    assert "/orders/weight_bearing/right_leg" in paths
    assert "/orders/precautions/1" in paths
    assert "/orders/precautions/0" not in paths
