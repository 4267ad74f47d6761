"""What do orders, injuries and missing limbs leave to stand on and to hold with?"""

import pytest

from service.domain.condition import Condition
from service.domain.orders import Limb, LimbOrders, Precaution
from service.domain.screen import Screen
from service.domain.stages import Attempt, Sides
from service.rules.limbs import (
    ARMS,
    FULLY,
    LEGS,
    NOTHING,
    PARTLY,
    arms,
    bears,
    limb_findings,
    lost,
    ordered_weight,
)
from service.rules.load import load_book
from tests.rules.screens import ABLE, CUED, FAILED, UNTRIED, limbs, orders, screen, stages

BOOK = load_book()


@pytest.mark.parametrize(
    ("order", "left"),
    [("NWB", NOTHING), ("TTWB", NOTHING), ("PWB", PARTLY), ("WBAT", FULLY), ("FWB", FULLY)],
)
def test_toe_touch_bears_nothing_and_as_tolerated_bears_all(order: str, left: int) -> None:
    seen = orders(weight_bearing=limbs(left_leg=order))
    assert bears(seen, Limb.LEFT_LEG) == left
    assert bears(seen, Limb.RIGHT_LEG) == FULLY


LEG_PAIRS = [
    (None, None, "full"),
    ("FWB", "WBAT", "full"),
    ("FWB", "PWB", "partial"),
    ("WBAT", "TTWB", "partial"),
    (None, "NWB", "partial"),
    ("PWB", "PWB", "partial"),
    ("PWB", "NWB", "none"),
    ("TTWB", "NWB", "none"),
    ("NWB", "NWB", "none"),
]


@pytest.mark.parametrize(("left", "right", "grade"), LEG_PAIRS)
def test_ordered_weight_is_taken_over_both_legs(
    left: str | None, right: str | None, grade: str
) -> None:
    for one, other in ((left, right), (right, left)):
        told = {"left_leg": one, "right_leg": other}
        ordered = limbs(**{limb: word for limb, word in told.items() if word})
        assert ordered_weight(orders(weight_bearing=ordered)) == grade


def test_a_lost_leg_bears_nothing_until_its_prosthesis_is_worn() -> None:
    without = orders(Precaution.AMPUTATION_LEFT_LEG)
    worn = orders(Precaution.AMPUTATION_LEFT_LEG, prosthesis_worn=[Limb.LEFT_LEG])
    assert lost(without, Limb.LEFT_LEG) and not lost(worn, Limb.LEFT_LEG)
    assert ordered_weight(without) == "partial"
    assert ordered_weight(worn) == "full"


def test_each_leg_under_full_weight_is_a_finding_that_says_why() -> None:
    seen = orders(
        Precaution.AMPUTATION_RIGHT_LEG,
        weight_bearing=limbs(left_leg="PWB", right_leg="FWB"),
    )
    found = limb_findings(BOOK, seen, Condition.LEG_ORDER, LEGS, FULLY)
    assert [(each.path, each.seen) for each in found] == [
        ("/orders/weight_bearing/left_leg", "PWB 50 %"),
        ("/orders/weight_bearing/right_leg", "limb missing, no prosthesis worn"),
    ]


def test_an_arm_in_part_weight_is_not_ordered_off() -> None:
    seen = orders(weight_bearing=limbs(left_arm="PWB", right_arm="TTWB"))
    found = limb_findings(BOOK, seen, Condition.ARM_ORDER, ARMS, PARTLY)
    assert [(each.path, each.seen) for each in found] == [
        ("/orders/weight_bearing/right_arm", "TTWB")
    ]


def pulled(left: Attempt, right: Attempt) -> Screen:
    return stages(arm_pull=Sides(left=left, right=right))


@pytest.mark.parametrize(
    ("left", "right", "grade"),
    [
        (ABLE, ABLE, "both"),
        (ABLE, FAILED, "one"),
        (CUED, ABLE, "one"),
        (ABLE, UNTRIED, "one"),
        (FAILED, FAILED, "none"),
        (CUED, CUED, "none"),
        (FAILED, UNTRIED, "unknown"),
        (UNTRIED, UNTRIED, "unknown"),
    ],
)
def test_arms_count_the_sides_pulled_without_help(
    left: Attempt, right: Attempt, grade: str
) -> None:
    assert arms(BOOK, pulled(left, right)).grade == grade


@pytest.mark.parametrize(
    "bound",
    [
        orders(weight_bearing=limbs(left_arm="NWB")),
        orders(Precaution.AMPUTATION_LEFT_ARM, prosthesis_worn=[Limb.LEFT_ARM]),
        orders(weight_bearing=limbs(left_arm="TTWB")),
        orders(Precaution.SHOULDER_INJURY_LEFT),
        orders(Precaution.AMPUTATION_LEFT_ARM),
    ],
)
def test_an_arm_ordered_off_hurt_or_missing_does_not_count(bound: Screen) -> None:
    graded = arms(BOOK, bound)
    assert graded.grade == "one"
    assert "/orders/weight_bearing/left_arm" in [finding.path for finding in graded.set_by]


@pytest.mark.parametrize("precaution", [Precaution.STERNAL, Precaution.RIB_FRACTURE])
def test_with_a_healing_breastbone_or_rib_no_arm_counts(precaution: Precaution) -> None:
    bound = orders(Precaution.SPASMS, precaution)
    assert arms(BOOK, bound).grade == "none"
    assert "/orders/precautions/1" in [finding.path for finding in arms(BOOK, bound).set_by]
    untried = screen(orders=bound.orders, stages=pulled(UNTRIED, UNTRIED).stages)
    assert arms(BOOK, untried).grade == "none"


def test_arms_that_are_both_bound_are_none_even_if_never_tried() -> None:
    both: LimbOrders = limbs(left_arm="NWB", right_arm="NWB")
    bound = orders(weight_bearing=both)
    untried = screen(orders=bound.orders, stages=pulled(UNTRIED, UNTRIED).stages)
    assert arms(BOOK, untried).grade == "none"
