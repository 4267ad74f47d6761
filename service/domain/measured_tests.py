"""Which optional tests were done, and with what raw result? Scores come from the rules."""

from decimal import Decimal
from typing import Annotated

from msgspec import Meta, Struct

from service.domain.value import bounded

Seconds = Annotated[Decimal, bounded("0", "3600", "Seconds")]
TakenSeconds = Annotated[Decimal, bounded("0.1", "3600", "Seconds taken")]
Grade = Annotated[int, Meta(ge=0, le=5)]


class ChairStand30s(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Full stands in 30 s. With the arms used the published score is 0."""

    count: Annotated[int, Meta(ge=0, le=100)]
    arms_used: bool


class FiveTimesSitToStand(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Seconds for five stands; null = unable to finish."""

    seconds: TakenSeconds | None


class TimedUpAndGo(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    seconds: TakenSeconds


class GaitSpeed(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    distance_m: Annotated[Decimal, bounded("1", "100", "Distance walked, m")]
    seconds: TakenSeconds


class FourStageBalance(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Seconds held in each stance; null = not attempted."""

    side_by_side_s: Seconds | None = None
    semi_tandem_s: Seconds | None = None
    tandem_s: Seconds | None = None
    one_leg_s: Seconds | None = None


class FunctionalReach(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    reach_cm: Annotated[Decimal, bounded("0", "100", "Reach, cm")]


class HandGrip(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    left_kg: Annotated[Decimal, bounded("0", "150", "Grip, kg")] | None = None
    right_kg: Annotated[Decimal, bounded("0", "150", "Grip, kg")] | None = None


class MrcSide(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Six muscle groups of one side, MRC grade 0 to 5."""

    shoulder_abduction: Grade
    elbow_flexion: Grade
    wrist_extension: Grade
    hip_flexion: Grade
    knee_extension: Grade
    ankle_dorsiflexion: Grade


class MrcSum(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    left: MrcSide
    right: MrcSide


class Sppb(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Short Physical Performance Battery, from its parts; null = unable."""

    side_by_side_s: Seconds | None
    semi_tandem_s: Seconds | None
    tandem_s: Seconds | None
    chair_stands_s: TakenSeconds | None
    gait_4m_s: TakenSeconds | None


class MeasuredTests(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Optional tests; each one left out was not done."""

    chair_stand_30s: ChairStand30s | None = None
    five_times_sit_to_stand: FiveTimesSitToStand | None = None
    timed_up_and_go: TimedUpAndGo | None = None
    gait_speed: GaitSpeed | None = None
    four_stage_balance: FourStageBalance | None = None
    functional_reach: FunctionalReach | None = None
    hand_grip: HandGrip | None = None
    mrc_sum: MrcSum | None = None
    sppb: Sppb | None = None
