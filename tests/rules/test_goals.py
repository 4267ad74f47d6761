"""Are goals and exercise set only where no order and no finding speaks against them?"""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from service.domain.orders import LimbOrder, LimbOrders, Orders, Precaution, WeightBearingOrder
from service.domain.plan import Plan
from service.domain.readiness import Cooperation, Instructions, Readiness, VitalSigns
from service.domain.screen import Screen
from service.domain.stages import (
    Attempt,
    KneeExtension,
    KneeStrength,
    Outcome,
    Rise,
    SittingBalance,
    Stage,
    Stages,
    StandEnd,
    TimedStand,
)
from service.domain.subject import Subject
from service.domain.value import Identifier
from service.rules.book import ExerciseRule, GoalRule, RuleBook
from service.rules.load import load_book
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of

STANDING_STAGES = ("rise", "weight_shift", "heel_raise", "foot_lift")
SPARED = {"upright", "no_leg_order", "no_orthostatic_symptoms", "no_bed_rest"}


@pytest.fixture(scope="module")
def book() -> RuleBook:
    return load_book()


def held_to(rule: GoalRule | ExerciseRule) -> set[str]:
    return {need.rule.rsplit(".", 1)[-1] for need in rule.only_if}


def test_no_goal_and_no_exercise_loads_what_an_order_spares(book: RuleBook) -> None:
    for goal in book.goals:
        if goal.target_seconds or goal.stage in STANDING_STAGES:
            assert held_to(goal) >= SPARED, goal.id
    for exercise in book.exercises:
        assert held_to(exercise) >= SPARED | {"clearance", "weight_bearing", "cooperation"}
        assert ("no_sternal_precaution" in held_to(exercise)) is exercise.hands
    pull = next(goal for goal in book.goals if goal.stage == "arm_pull")
    assert held_to(pull) >= {"no_sternal_precaution", "no_shoulder_injury", "no_arm_order"}


def plan_for(book: RuleBook, orders: Orders, stages: Stages) -> Plan:
    """The plan of a calm adult whose vital signs are inside every limit."""
    screen = Screen(
        patient=Subject(
            identifier=Identifier(system="urn:example:patients", value="words"),
            age_years=70,
            mass_kg=Decimal(70),
            stature_cm=Decimal(170),
            falls_last_12_months=0,
        ),
        observed_at=datetime(2026, 1, 5, 9, 0, tzinfo=UTC),
        orders=orders,
        readiness=Readiness(
            rass=0,
            instructions=Instructions.TWO_STEP,
            cooperation=Cooperation.COOPERATIVE,
            vital_signs=VitalSigns(
                spo2_percent=Decimal(97),
                heart_rate_per_min=76,
                respiratory_rate_per_min=16,
                systolic_mmhg=124,
                mean_arterial_mmhg=88,
                temperature_celsius=Decimal("36.8"),
            ),
        ),
        stages=stages,
    )
    return build_plan(book, screen, profile_of(book, screen, ()), PlanIds("plan", "screen", 1))


def stands(seconds: int) -> Stages:
    """Rises with the hands and stands so long; nothing beyond that was tried."""
    alone = Attempt(outcome=Outcome.ACHIEVED)
    return Stages(
        sitting_balance=SittingBalance(outcome=Outcome.ACHIEVED, seconds=Decimal(30)),
        forward_lean=alone,
        knee_extension=KneeExtension(
            left=KneeStrength(mrc_grade=4), right=KneeStrength(mrc_grade=4)
        ),
        rise=Rise(outcome=Outcome.ACHIEVED, hands_used=True),
        timed_stand=TimedStand(seconds=Decimal(seconds), ended_by=StandEnd.FATIGUE),
    )


def test_a_person_without_orders_is_set_the_next_stage_and_the_next_standing_time(
    book: RuleBook,
) -> None:
    plan = plan_for(book, Orders(precautions=[]), stands(20))
    assert [goal.goal for goal in plan.goals] == ["arm_pull", "stand_30_s"]
    assert plan.exercise is not None and plan.exercise.hands
    assert plan.exercise.seat_height_percent_high == 120


def test_a_healing_breastbone_is_set_no_pull_and_no_exercise_with_the_hands(
    book: RuleBook,
) -> None:
    plan = plan_for(book, Orders(precautions=[Precaution.STERNAL]), stands(20))
    assert [goal.goal for goal in plan.goals] == ["weight_shift", "stand_30_s"]
    assert plan.exercise is None


@pytest.mark.parametrize(
    "order",
    [
        LimbOrder(order=WeightBearingOrder.NWB),
        LimbOrder(order=WeightBearingOrder.PWB, percent=50),
    ],
)
def test_limited_legs_are_set_no_standing_goal_and_no_exercise(
    book: RuleBook, order: LimbOrder
) -> None:
    legs = LimbOrders(left_leg=order, right_leg=order)
    plan = plan_for(book, Orders(precautions=[], weight_bearing=legs), stands(20))
    assert [goal.goal for goal in plan.goals] == ["arm_pull"]
    assert plan.exercise is None


def test_the_goals_go_up_the_stages_and_the_seconds(book: RuleBook) -> None:
    stages = [goal.stage for goal in book.goals if goal.stage]
    assert stages == [s for s in Stage if s not in (Stage.KNEE_EXTENSION, Stage.TIMED_STAND)]
    assert [g.target_seconds for g in book.goals if g.target_seconds] == [5, 10, 30, 60]
