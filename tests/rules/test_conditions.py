"""Is each condition present where the screen says so, and nowhere else?"""

from decimal import Decimal
from typing import Any

import pytest

from service.domain.condition import Condition
from service.domain.context import (
    Chair,
    Context,
    FloorInjury,
    OnTheFloor,
    Stretcher,
    WalkingAid,
)
from service.domain.measured_tests import ChairStand30s, MeasuredTests, TimedUpAndGo
from service.domain.move import Move
from service.domain.orders import Activity, Precaution
from service.domain.readiness import Symptom
from service.domain.screen import Screen
from service.domain.stages import Sides, Sign, SignSeen, Stage, StandEnd
from service.domain.subject import Sex
from service.rules.conditions import conditions_of
from service.rules.load import load_book
from service.rules.norms import score_tests
from tests.rules.screens import (
    ABLE,
    CUED,
    FAILED,
    context,
    limbs,
    orders,
    patient,
    readiness,
    screen,
    stages,
    stood,
)

BOOK = load_book()


def found(seen: Screen) -> dict[Condition, list[str]]:
    """Each condition with the places that say so."""
    told = conditions_of(BOOK, seen, score_tests(BOOK, seen))
    return {name: [finding.path for finding in places] for name, places in told.items()}


ALWAYS = {Condition.NO_WALKING_AID: ["/context/walking_aid"]}


def more(seen: Screen) -> dict[Condition, list[str]]:
    return {name: paths for name, paths in found(seen).items() if paths != ALWAYS.get(name)}


def sign(seen: Sign) -> Screen:
    return screen(signs=[SignSeen(stage=Stage.RISE, sign=seen)])


def test_an_able_adult_has_no_condition_but_those_of_the_place() -> None:
    assert found(screen()) == ALWAYS


def test_the_conditions_stand_in_the_order_of_the_vocabulary() -> None:
    seen = orders(Precaution.SEVERE_PAIN, Precaution.HIP, activity=Activity.BED_REST)
    told = list(conditions_of(BOOK, seen, ()))
    assert told == [condition for condition in Condition if condition in told]


CASES: list[tuple[Screen, dict[Condition, list[str]]]] = [
    (patient(pregnant=True), {Condition.PREGNANCY: ["/patient/pregnant"]}),
    (patient(pregnant=False), {}),
    (
        orders(activity=Activity.WITH_HELP),
        {Condition.ACTIVITY_WITH_HELP: ["/orders/activity"]},
    ),
    (
        orders(weight_bearing=limbs(left_arm="NWB")),
        {Condition.ARM_ORDER: ["/orders/weight_bearing/left_arm"]},
    ),
    (sign(Sign.LOSS_OF_BALANCE), {Condition.LOSS_OF_BALANCE: ["/signs/0"]}),
    (sign(Sign.LEANING_BACK), {Condition.LEANING_BACK: ["/signs/0"]}),
    (sign(Sign.KNEE_BUCKLING), {Condition.KNEE_BUCKLING: ["/signs/0"]}),
    (sign(Sign.FATIGUE), {}),
    (
        readiness(symptoms=[Symptom.NAUSEA, Symptom.BLURRED_VISION]),
        {Condition.DIZZINESS: ["/readiness/symptoms/1"]},
    ),
    (
        stages(arm_pull=Sides(left=ABLE, right=FAILED)),
        {Condition.ONE_SIDED_WEAKNESS: ["/stages/arm_pull"]},
    ),
    (stages(foot_lift=Sides(left=ABLE, right=CUED)), {}),
    (
        patient(falls_last_12_months=1),
        {Condition.FALL_IN_YEAR: ["/patient/falls_last_12_months"]},
    ),
    (
        patient(falls_last_12_months=None),
        {Condition.FALL_IN_YEAR: ["/patient/falls_last_12_months"]},
    ),
    (
        context(chair=Chair(reclines=False, armrests_removable=False)),
        {
            Condition.CHAIR_DOES_NOT_RECLINE: ["/context/chair/reclines"],
            Condition.ARMRESTS_FIXED: ["/context/chair/armrests_removable"],
        },
    ),
    (
        context(chair=Chair()),
        {
            Condition.CHAIR_DOES_NOT_RECLINE: ["/context/chair/reclines"],
            Condition.ARMRESTS_UNCHECKED: ["/context/chair/armrests_removable"],
        },
    ),
    (
        context(stretcher=Stretcher()),
        {Condition.STRETCHER_STAYS_HIGH: ["/context/stretcher/lowers_to_seat_height"]},
    ),
    (
        patient(mass_kg=None),
        {
            Condition.VERY_HEAVY: ["/patient/mass_kg", "/patient/stature_cm"],
            Condition.MASS_UNKNOWN: ["/patient/mass_kg"],
        },
    ),
]


@pytest.mark.parametrize(("seen", "expected"), CASES)
def test_a_condition_is_present_where_it_is_recorded(
    seen: Screen, expected: dict[Condition, list[str]]
) -> None:
    assert more(seen) == expected


@pytest.mark.parametrize(
    ("end", "condition"),
    [
        (StandEnd.KNEE_BUCKLING, Condition.KNEE_BUCKLING),
        (StandEnd.LOSS_OF_BALANCE, Condition.LOSS_OF_BALANCE),
        (StandEnd.DIZZINESS, Condition.DIZZINESS),
    ],
)
def test_what_ended_the_timed_stand_is_a_sign_of_its_own(
    end: StandEnd, condition: Condition
) -> None:
    assert more(stages(timed_stand=stood("60", end))) == {
        condition: ["/stages/timed_stand/ended_by"]
    }


@pytest.mark.parametrize(
    ("aid", "present"),
    [
        (WalkingAid.NOT_USED, {Condition.NO_WALKING_AID}),
        (WalkingAid.AT_HAND, {Condition.USES_WALKING_AID}),
        (WalkingAid.NOT_HERE, {Condition.USES_WALKING_AID, Condition.NO_WALKING_AID}),
    ],
)
def test_an_own_aid_is_used_and_may_be_missing(aid: WalkingAid, present: set[Condition]) -> None:
    both = {Condition.USES_WALKING_AID, Condition.NO_WALKING_AID}
    assert set(found(context(walking_aid=aid))) & both == present


@pytest.mark.parametrize(
    ("floor", "present"),
    [
        (OnTheFloor(injury=FloorInjury.MINOR, gets_up_alone=True), set()),
        (
            OnTheFloor(injury=FloorInjury.MORE_THAN_MINOR, gets_up_alone=True),
            {Condition.FLOOR_INJURY},
        ),
        (OnTheFloor(gets_up_alone=True), {Condition.FLOOR_INJURY}),
        (
            OnTheFloor(injury=FloorInjury.NONE, gets_up_alone=False),
            {Condition.CANNOT_RISE_FROM_FLOOR},
        ),
        (OnTheFloor(injury=FloorInjury.NONE), {Condition.CANNOT_RISE_FROM_FLOOR}),
    ],
)
def test_on_the_floor_an_injury_not_stated_counts_as_one(
    floor: OnTheFloor, present: set[Condition]
) -> None:
    both = {Condition.FLOOR_INJURY, Condition.CANNOT_RISE_FROM_FLOOR}
    assert set(found(context(on_the_floor=floor))) & both == present


def test_the_floor_is_no_matter_unless_the_person_lies_there_or_it_is_asked_about() -> None:
    both = {Condition.FLOOR_INJURY, Condition.CANNOT_RISE_FROM_FLOOR}
    assert not set(found(context(moves=[Move.WALK]))) & both
    assert set(found(context(moves=[Move.UP_FROM_FLOOR]))) >= both


def test_anaesthesia_and_deep_sedation_are_told() -> None:
    asleep = found(readiness(anaesthetised=True))
    assert asleep[Condition.ANAESTHETISED] == ["/readiness/anaesthetised"]
    assert asleep[Condition.DEEPLY_SEDATED] == ["/readiness/anaesthetised"]
    assert found(readiness(rass=-3))[Condition.DEEPLY_SEDATED] == ["/readiness/rass"]
    assert Condition.DEEPLY_SEDATED not in found(readiness(rass=-2))
    assert Condition.DEEPLY_SEDATED not in found(readiness(rass=None))


def test_orders_that_contradict_what_was_seen_are_a_conflict() -> None:
    seen = found(orders(weight_bearing=limbs(left_leg="NWB")))
    assert seen[Condition.ORDER_CONFLICT] == ["/orders/weight_bearing"]
    assert seen[Condition.LEG_ORDER] == ["/orders/weight_bearing/left_leg"]
    resting = found(orders(activity=Activity.BED_REST))
    assert resting[Condition.ORDER_CONFLICT] == ["/orders/activity"]
    assert resting[Condition.BED_REST] == resting[Condition.ACTIVITY_WITH_HELP]


def test_a_partial_order_and_part_weight_seen_agree() -> None:
    seen = screen(
        orders=orders(weight_bearing=limbs(left_leg="PWB")).orders,
        stages=stages(foot_lift=Sides()).stages,
    )
    assert Condition.ORDER_CONFLICT not in found(seen)


@pytest.mark.parametrize(
    ("tests", "present"),
    [
        ({"timed_up_and_go": TimedUpAndGo(seconds=Decimal(12))}, {Condition.TUG_AT_RISK}),
        ({"timed_up_and_go": TimedUpAndGo(seconds=Decimal("11.9"))}, set()),
        (
            {"chair_stand_30s": ChairStand30s(count=10, arms_used=False)},
            {Condition.CHAIR_STAND_BELOW_AVERAGE},
        ),
        ({"chair_stand_30s": ChairStand30s(count=11, arms_used=False)}, set()),
        ({}, set()),
    ],
)
def test_tests_below_their_norm_are_conditions(
    tests: dict[str, Any], present: set[Condition]
) -> None:
    seen = screen(
        patient=patient(age_years=66, sex=Sex.FEMALE).patient, tests=MeasuredTests(**tests)
    )
    assert set(more(seen)) == present


def test_a_place_not_described_counts_against_every_method_that_needs_it() -> None:
    bare = screen(context=Context())
    assert {
        Condition.CHAIR_DOES_NOT_RECLINE,
        Condition.ARMRESTS_UNCHECKED,
        Condition.STRETCHER_STAYS_HIGH,
    } <= set(found(bare))
