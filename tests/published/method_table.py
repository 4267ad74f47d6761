"""What must a person bring to each method, what forbids it, and who has to be there?

Typed by hand from the project's clinical design, not from the rule files: its table of methods,
its findings that forbid on their own, and its notes on very heavy people and helpers. A knee
against gravity and safe sitting before weight is borne: Green et al. 2016, J Multidiscip Healthc
9:247-256 (published). Cooperation: VA assessment criteria 2001/2014 (published). Belts steady
only: VHA 2014 (published). Very heavy: VA guide 2001 (recalled). Standing times are defaults.
The rest is common practice.
"""

from service.domain.axis import Axis
from service.domain.condition import Condition
from service.domain.move import Move

Brings = dict[Axis, str]

_BEARS: Brings = {Axis.SITTING: "unsupported", Axis.KNEE_STRONGER: "3"}
_STEPS: Brings = {
    **_BEARS,
    Axis.COOPERATION: "full",
    Axis.RISE: "with_hands",
    Axis.SHIFT: "able",
    Axis.HEEL: "able",
    Axis.STEP: "able",
    Axis.WEIGHT_BEARING: "full",
}

BRINGS: dict[str, Brings] = {
    "unaided": {**_STEPS, Axis.CLEARANCE: "clear"},
    "walking_aid": {**_STEPS, Axis.CLEARANCE: "clear"},
    "standby": _STEPS,
    "belt_steadied": {
        **_BEARS,
        Axis.COOPERATION: "prompted",
        Axis.WEIGHT_BEARING: "partial",
        Axis.RISE: "steadied",
        Axis.SHIFT: "able",
        Axis.STEP: "helped",
    },
    "knee_push": {Axis.COOPERATION: "prompted", Axis.SITTING: "supported", Axis.ARMS: "both"},
    "stand_aid": {
        Axis.KNEE_STRONGER: "3",
        Axis.COOPERATION: "prompted",
        Axis.SITTING: "supported",
        Axis.LEAN: "able",
        Axis.ARMS: "both",
        Axis.RISE: "with_hands",
        Axis.WEIGHT_BEARING: "partial",
    },
    "powered_stand_lift": {
        Axis.COOPERATION: "prompted",
        Axis.SITTING: "supported",
        Axis.ARMS: "one",
        Axis.WEIGHT_BEARING: "partial",
    },
    "transfer_board": {
        Axis.COOPERATION: "full",
        Axis.SITTING: "unsupported",
        Axis.ARMS: "both",
    },
    "recline_and_slide": {Axis.COOPERATION: "prompted"},
    "floor_air_lift": {Axis.COOPERATION: "prompted"},
}
# Walking on a stand aid, its foot plate off: only who shifts, lifts heels and feet.
WALKS_ON_AN_AID: Brings = {Axis.SHIFT: "able", Axis.HEEL: "able", Axis.STEP: "able"}

STANDS_S = {"unaided": 60, "walking_aid": 60, "standby": 30, "belt_steadied": 30, "stand_aid": 5}
STANDS_S_ON_AN_AID = dict.fromkeys(
    (
        Move.WALK,
        Move.STAND_FOR_CARE,
        Move.STAND_EXERCISE,
        Move.REPOSITION_IN_CHAIR,
        Move.CHAIR_TO_STRETCHER,
    ),
    10,
)
LIFTED_TENTHS_KG = {
    "unaided": 0,
    "walking_aid": 0,
    "standby": 0,
    "belt_steadied": 0,
    "stand_aid": 0,
    "knee_push": 159,
}

_ALONE = ("unaided", "walking_aid")
_ON_THEIR_FEET = (*_ALONE, "standby", "belt_steadied")
_STANDING = (*_ON_THEIR_FEET, "stand_aid", "powered_stand_lift")
_NOT_FLAT = (
    *_STANDING,
    "knee_push",
    "transfer_board",
    "recline_and_slide",
    "floor_air_lift",
    "sling_lift",
)
_SLIDES = ("transfer_board", "slide_sheet", "lateral_board", "recline_and_slide")
_BY_THE_ARMS = ("stand_aid", "transfer_board", "knee_push")
_BELT_OR_STRAP = ("belt_steadied", "powered_stand_lift")

FORBIDS: dict[Condition, tuple[str, ...]] = {
    Condition.ORTHOSTATIC_DROP: _ALONE,
    Condition.POSTURAL_HYPOTENSION: _ALONE,
    Condition.TUG_AT_RISK: _ALONE,
    Condition.CHAIR_STAND_BELOW_AVERAGE: _ALONE,
    Condition.FALL_IN_YEAR: _ALONE,
    Condition.ACTIVITY_WITH_HELP: _ALONE,
    Condition.LOSS_OF_BALANCE: _ALONE,
    Condition.DIZZINESS: _ALONE,
    Condition.USES_WALKING_AID: ("unaided",),
    Condition.NO_WALKING_AID: ("walking_aid",),
    Condition.DEEPLY_SEDATED: (*_ALONE, "standby"),
    Condition.ORTHOSTATIC_SYMPTOMS: _STANDING,
    Condition.KNEE_BUCKLING: (*_ON_THEIR_FEET, "knee_push"),
    Condition.SPASMS: (*_ON_THEIR_FEET, "knee_push"),
    Condition.ABDOMINAL_WOUND: _BELT_OR_STRAP,
    Condition.STOMA: _BELT_OR_STRAP,
    Condition.RIB_FRACTURE: _BELT_OR_STRAP,
    Condition.PREGNANCY: _BELT_OR_STRAP,
    Condition.SEVERE_OSTEOPOROSIS: ("belt_steadied",),
    Condition.STERNAL_PRECAUTION: (*_BY_THE_ARMS, "powered_stand_lift"),
    Condition.SHOULDER_INJURY: _BY_THE_ARMS,
    Condition.ARM_ORDER: _BY_THE_ARMS,
    Condition.CONTRACTURE: ("powered_stand_lift",),
    Condition.PRESSURE_INJURY: _SLIDES,
    Condition.FRAGILE_SKIN: _SLIDES,
    Condition.ARMRESTS_FIXED: ("transfer_board",),
    Condition.CHAIR_DOES_NOT_RECLINE: ("recline_and_slide",),
    Condition.HIP_PRECAUTION: ("knee_push",),
    Condition.KNEE_PRECAUTION: ("knee_push",),
    Condition.UNSTABLE_SPINE: _NOT_FLAT,
    Condition.UNSTABLE_MAJOR_FRACTURE: _NOT_FLAT,
}
FORBIDS_ON: dict[Move, dict[Condition, tuple[str, ...]]] = {
    Move.WALK: {Condition.LEG_ORDER: ("belt_steadied",)},
    Move.CHAIR_TO_STRETCHER: {Condition.STRETCHER_STAYS_HIGH: ("stand_aid",)},
    Move.UP_FROM_FLOOR: {
        Condition.FLOOR_INJURY: ("standby", "floor_air_lift", "sling_lift"),
        Condition.CANNOT_RISE_FROM_FLOOR: ("standby",),
    },
}
# Anaesthetised or deeply sedated and over this mass: air or a mechanical device (AORN, recalled).
DEEP_ON_A_SHEET = ("slide_sheet", "lateral_board")
DEEP_ON_A_SHEET_TENTHS_KG = 710

HELPERS = {
    "unaided": 0,
    "walking_aid": 0,
    "standby": 1,
    "belt_steadied": 1,
    "knee_push": 1,
    "stand_aid": 1,
    "powered_stand_lift": 1,
    "transfer_board": 1,
    "slide_sheet": 2,
    "lateral_board": 2,
    "recline_and_slide": 2,
    "air_transfer_mat": 2,
    "mechanical_lateral": 2,
    "floor_air_lift": 2,
    "sling_lift": 2,
}
VERY_HEAVY_HELPERS = {
    "powered_stand_lift": 2,
    "transfer_board": 2,
    **{method: 3 for method, count in HELPERS.items() if count == 2},
}
# A stand lift for who sits only supported; a chair moved in under somebody on a stand aid.
SUPPORTED_SITTING_HELPERS = {"powered_stand_lift": 2}
HELPERS_ON = {(Move.REPOSITION_IN_CHAIR, "stand_aid"): 2}
FLAT_ON_A_DEVICE = (
    "slide_sheet",
    "lateral_board",
    "air_transfer_mat",
    "mechanical_lateral",
)
HEAVY_TENTHS_KG, HEAVY_HELPERS = 907, 3
# Between bed and stretcher also a sling: who does not cooperate, heavy or not; who is sedated.
UNCOOPERATIVE_HELPERS, UNCOOPERATIVE_HEAVY_HELPERS, DEEP_HELPERS = 3, 4, 4
LINES_HELPERS = 1
