"""What did the person do at each stage of the screen?"""

from decimal import Decimal
from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct

from service.domain.value import bounded


class Stage(StrEnum):
    """The stages in the order they are done."""

    SITTING_BALANCE = "sitting_balance"
    FORWARD_LEAN = "forward_lean"
    ARM_PULL = "arm_pull"
    KNEE_EXTENSION = "knee_extension"
    RISE = "rise"
    WEIGHT_SHIFT = "weight_shift"
    HEEL_RAISE = "heel_raise"
    FOOT_LIFT = "foot_lift"
    TIMED_STAND = "timed_stand"


class Outcome(StrEnum):
    NOT_ATTEMPTED = "not_attempted"
    NOT_ACHIEVED = "not_achieved"
    ACHIEVED_WITH_HELP = "achieved_with_help"
    ACHIEVED = "achieved"


class Help(StrEnum):
    LIFTING = "lifting"
    STEADYING = "steadying"
    CUE = "cue"


class Sign(StrEnum):
    KNEE_BUCKLING = "knee_buckling"
    LOSS_OF_BALANCE = "loss_of_balance"
    LEANING_BACK = "leaning_back"
    DIZZINESS = "dizziness"
    PAIN = "pain"
    BREATHLESSNESS = "breathlessness"
    FATIGUE = "fatigue"
    REFUSAL = "refusal"


class StandEnd(StrEnum):
    """Why the timed stand ended."""

    TARGET_REACHED = "target_reached"
    FATIGUE = "fatigue"
    PAIN = "pain"
    BREATHLESSNESS = "breathlessness"
    DIZZINESS = "dizziness"
    KNEE_BUCKLING = "knee_buckling"
    LOSS_OF_BALANCE = "loss_of_balance"
    PERSON_STOPPED = "person_stopped"
    STAFF_STOPPED = "staff_stopped"


LiftPercent = Annotated[
    int, Meta(ge=1, le=100, description="Estimated share of the body mass that was held up, %")
]
LiftKg = Annotated[Decimal, bounded("0", "300", "Estimated mass the helper held up, kg")]
Held = Annotated[Decimal, bounded("0", "3600", "Seconds")]


class Attempt(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One attempt. ``help`` says which help was given and belongs to ``achieved_with_help``;
    ``lift_kg`` or, where it was judged as a share of the body mass, ``lift_percent`` belongs to
    ``help`` = lifting."""

    outcome: Outcome = Outcome.NOT_ATTEMPTED
    help: Help | None = None
    lift_kg: LiftKg | None = None
    lift_percent: LiftPercent | None = None


class SittingBalance(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    outcome: Outcome = Outcome.NOT_ATTEMPTED
    help: Help | None = None
    lift_kg: LiftKg | None = None
    lift_percent: LiftPercent | None = None
    seconds: Held | None = None


class Rise(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    outcome: Outcome = Outcome.NOT_ATTEMPTED
    help: Help | None = None
    lift_kg: LiftKg | None = None
    lift_percent: LiftPercent | None = None
    hands_used: bool | None = None


class Sides(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    left: Attempt = Attempt()
    right: Attempt = Attempt()


class KneeStrength(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Strength on the Medical Research Council scale, 0 to 5; 3 moves against gravity."""

    mrc_grade: Annotated[int, Meta(ge=0, le=5)] | None = None


class KneeExtension(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    left: KneeStrength = KneeStrength()
    right: KneeStrength = KneeStrength()


class TimedStand(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """How long the person stood. ``seconds`` null: not attempted."""

    seconds: Held | None = None
    ended_by: StandEnd | None = None


class Stages(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Each stage; one left out is ``not_attempted``. Not known never counts as able."""

    sitting_balance: SittingBalance = SittingBalance()
    forward_lean: Attempt = Attempt()
    arm_pull: Sides = Sides()
    knee_extension: KneeExtension = KneeExtension()
    rise: Rise = Rise()
    weight_shift: Sides = Sides()
    heel_raise: Sides = Sides()
    foot_lift: Sides = Sides()
    timed_stand: TimedStand = TimedStand()


class SignSeen(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A sign and the stage at which it was seen."""

    stage: Stage
    sign: Sign
