"""Which orders and precautions bind the person at this screen?"""

from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct


class Limb(StrEnum):
    LEFT_LEG = "left_leg"
    RIGHT_LEG = "right_leg"
    LEFT_ARM = "left_arm"
    RIGHT_ARM = "right_arm"


class WeightBearingOrder(StrEnum):
    """Ordered weight-bearing of one limb, least first. Trade abbreviations."""

    NWB = "NWB"
    TTWB = "TTWB"
    PWB = "PWB"
    WBAT = "WBAT"
    FWB = "FWB"


class Activity(StrEnum):
    BED_REST = "bed_rest"
    WITH_HELP = "with_help"
    AS_TOLERATED = "as_tolerated"


class Precaution(StrEnum):
    HIP = "hip"
    KNEE = "knee"
    STERNAL = "sternal"
    SPINE_STABLE = "spine_stable"
    SPINE_UNSTABLE = "spine_unstable"
    ABDOMINAL_WOUND = "abdominal_wound"
    STOMA = "stoma"
    RIB_FRACTURE = "rib_fracture"
    SHOULDER_INJURY_LEFT = "shoulder_injury_left"
    SHOULDER_INJURY_RIGHT = "shoulder_injury_right"
    UNSTABLE_MAJOR_FRACTURE = "unstable_major_fracture"
    SEVERE_OSTEOPOROSIS = "severe_osteoporosis"
    CONTRACTURE_HIP = "contracture_hip"
    CONTRACTURE_KNEE = "contracture_knee"
    CONTRACTURE_ANKLE = "contracture_ankle"
    SPASMS = "spasms"
    FRAGILE_SKIN = "fragile_skin"
    PRESSURE_INJURY = "pressure_injury"
    TUBES_OR_LINES = "tubes_or_lines"
    AMPUTATION_LEFT_LEG = "amputation_left_leg"
    AMPUTATION_RIGHT_LEG = "amputation_right_leg"
    AMPUTATION_LEFT_ARM = "amputation_left_arm"
    AMPUTATION_RIGHT_ARM = "amputation_right_arm"
    RECENT_SEDATION = "recent_sedation"
    POSTURAL_HYPOTENSION = "postural_hypotension"
    SEVERE_PAIN = "severe_pain"


class LimbOrder(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """An order for one limb; ``percent`` of body weight belongs to PWB and only to it."""

    order: WeightBearingOrder
    percent: Annotated[int, Meta(ge=1, le=99)] | None = None


class LimbOrders(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One order a limb; a limb without one has no recorded restriction."""

    left_leg: LimbOrder | None = None
    right_leg: LimbOrder | None = None
    left_arm: LimbOrder | None = None
    right_arm: LimbOrder | None = None


class Orders(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Orders and precautions. ``precautions`` must be sent: an empty list says that none apply."""

    precautions: Annotated[list[Precaution], Meta(max_length=40)]
    weight_bearing: LimbOrders = LimbOrders()
    activity: Activity | None = None
    prosthesis_worn: Annotated[list[Limb], Meta(max_length=4)] = []
