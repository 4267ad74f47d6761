"""Which screens do the tests of the rules start from?

An able adult, everything recorded; a test changes what it is about. Every value is invented.
"""

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from msgspec.structs import replace

from service.domain.context import Bed, Chair, Context, Stretcher
from service.domain.orders import (
    Activity,
    Limb,
    LimbOrder,
    LimbOrders,
    Orders,
    Precaution,
    WeightBearingOrder,
)
from service.domain.readiness import Cooperation, Instructions, Readiness, VitalSigns
from service.domain.screen import Screen
from service.domain.stages import (
    Attempt,
    Help,
    KneeExtension,
    KneeStrength,
    Outcome,
    Rise,
    Sides,
    SittingBalance,
    Stages,
    StandEnd,
    TimedStand,
)
from service.domain.subject import Sex, Subject
from service.domain.value import Identifier

ABLE = Attempt(outcome=Outcome.ACHIEVED)
CUED = Attempt(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.CUE)
FAILED = Attempt(outcome=Outcome.NOT_ACHIEVED)
UNTRIED = Attempt()
BOTH = Sides(left=ABLE, right=ABLE)

PATIENT = Subject(
    identifier=Identifier(system="urn:example:patients", value="p-1"),
    age_years=58,
    sex=Sex.FEMALE,
    mass_kg=Decimal("70.0"),
    stature_cm=Decimal(170),
    falls_last_12_months=0,
)
VITAL_SIGNS = VitalSigns(
    spo2_percent=Decimal(97),
    heart_rate_per_min=76,
    respiratory_rate_per_min=16,
    systolic_mmhg=124,
    diastolic_mmhg=76,
    mean_arterial_mmhg=92,
    temperature_celsius=Decimal("36.8"),
    fio2_fraction=Decimal("0.21"),
)
READINESS = Readiness(
    rass=0,
    instructions=Instructions.TWO_STEP,
    cooperation=Cooperation.COOPERATIVE,
    vital_signs=VITAL_SIGNS,
)
STAGES = Stages(
    sitting_balance=SittingBalance(outcome=Outcome.ACHIEVED, seconds=Decimal(30)),
    forward_lean=ABLE,
    arm_pull=BOTH,
    knee_extension=KneeExtension(left=KneeStrength(mrc_grade=5), right=KneeStrength(mrc_grade=5)),
    rise=Rise(outcome=Outcome.ACHIEVED, hands_used=False),
    weight_shift=BOTH,
    heel_raise=BOTH,
    foot_lift=BOTH,
    timed_stand=TimedStand(seconds=Decimal(60), ended_by=StandEnd.TARGET_REACHED),
)
PLACE = Context(
    chair=Chair(reclines=True, armrests_removable=True),
    bed=Bed(height_adjustable=True),
    stretcher=Stretcher(lowers_to_seat_height=True),
)
SCREEN = Screen(
    patient=PATIENT,
    observed_at=datetime(2026, 3, 4, 9, 0, tzinfo=UTC),
    orders=Orders(precautions=[], activity=Activity.AS_TOLERATED),
    readiness=READINESS,
    stages=STAGES,
    context=PLACE,
)


def screen(**changes: Any) -> Screen:
    """An able adult's screen with ``changes``."""
    return replace(SCREEN, **changes)


def patient(**changes: Any) -> Screen:
    return screen(patient=replace(PATIENT, **changes))


def orders(*precautions: Precaution, **changes: Any) -> Screen:
    return screen(orders=replace(SCREEN.orders, precautions=list(precautions), **changes))


def limbs(**ordered: str) -> LimbOrders:
    """Orders by limb, such as ``left_leg="NWB"``; a partial order is of 50 percent."""
    return LimbOrders(
        **{
            Limb(limb): LimbOrder(order=WeightBearingOrder(word), percent=_percent(word))
            for limb, word in ordered.items()
        }
    )


def _percent(word: str) -> int | None:
    return 50 if word == WeightBearingOrder.PWB else None


def readiness(**changes: Any) -> Screen:
    return screen(readiness=replace(READINESS, **changes))


def vital_signs(**changes: Any) -> Screen:
    return readiness(vital_signs=replace(VITAL_SIGNS, **changes))


def stages(**changes: Any) -> Screen:
    return screen(stages=replace(STAGES, **changes))


def stood(seconds: str | None, ended_by: StandEnd | None = None) -> TimedStand:
    return TimedStand(seconds=None if seconds is None else Decimal(seconds), ended_by=ended_by)


def context(**changes: Any) -> Screen:
    return screen(context=replace(PLACE, **changes))
