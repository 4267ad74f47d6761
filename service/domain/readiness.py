"""Was the person fit to begin: awake, able to follow, calm, vital signs inside limits?"""

from decimal import Decimal
from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct

from service.domain.value import bounded


class Instructions(StrEnum):
    NONE = "none"
    ONE_STEP = "one_step"
    TWO_STEP = "two_step"


class Cooperation(StrEnum):
    COMBATIVE = "combative"
    UNPREDICTABLE = "unpredictable"
    NEEDS_PROMPTING = "needs_prompting"
    COOPERATIVE = "cooperative"


class Symptom(StrEnum):
    DIZZINESS = "dizziness"
    FAINTNESS = "faintness"
    BLURRED_VISION = "blurred_vision"
    BREATHLESSNESS = "breathlessness"
    CHEST_PAIN = "chest_pain"
    NAUSEA = "nausea"


Systolic = Annotated[int, Meta(ge=30, le=320, description="Systolic pressure, mm[Hg]")]
Diastolic = Annotated[int, Meta(ge=10, le=220, description="Diastolic pressure, mm[Hg]")]
MeanArterial = Annotated[int, Meta(ge=10, le=250, description="Mean arterial pressure, mm[Hg]")]


class VitalSigns(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Vital signs where taken; each is optional. Pressures in mm[Hg]."""

    spo2_percent: Annotated[Decimal, bounded("30", "100", "Oxygen saturation, %")] | None = None
    heart_rate_per_min: Annotated[int, Meta(ge=10, le=350)] | None = None
    respiratory_rate_per_min: Annotated[int, Meta(ge=0, le=120)] | None = None
    systolic_mmhg: Systolic | None = None
    diastolic_mmhg: Diastolic | None = None
    mean_arterial_mmhg: MeanArterial | None = None
    mean_arterial_target_mmhg: MeanArterial | None = None
    temperature_celsius: Annotated[Decimal, bounded("25", "45", "Body temperature, Cel")] | None = (
        None
    )
    fio2_fraction: (
        Annotated[Decimal, bounded("0.21", "1", "Fraction of inspired oxygen, 0.21 to 1")] | None
    ) = None
    oxygen_support: bool | None = None
    vasopressor_support: bool | None = None


class LyingPressure(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    systolic_mmhg: Systolic
    diastolic_mmhg: Diastolic


class StandingPressure(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    systolic_mmhg: Systolic
    diastolic_mmhg: Diastolic
    minutes_after_standing: Annotated[int, Meta(ge=0, le=30)]


class Orthostatic(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Pressure lying (or, with ``from_sitting``, sitting) and after standing up."""

    lying: LyingPressure
    standing: StandingPressure
    from_sitting: bool = False


class Readiness(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Readiness to be moved. ``rass`` is the Richmond Agitation-Sedation Scale, -5 to +4.

    Anything left out is unknown, and unknown never counts as ready: an anaesthetised person is
    sent with the RASS that was seen (-5 when nothing rouses them).
    """

    rass: Annotated[int, Meta(ge=-5, le=4)] | None = None
    instructions: Instructions | None = None
    cooperation: Cooperation | None = None
    anaesthetised: bool = False
    vital_signs: VitalSigns = VitalSigns()
    orthostatic: Orthostatic | None = None
    pain_0_10: Annotated[int, Meta(ge=0, le=10)] | None = None
    symptoms: Annotated[list[Symptom], Meta(max_length=20)] = []
