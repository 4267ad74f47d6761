"""Which facts, each simply present or not, can forbid a method or change how it is done?

Every condition is worded so that its presence can only ask for more support.
"""

from enum import StrEnum


class Condition(StrEnum):
    # precautions, as ordered
    HIP_PRECAUTION = "hip_precaution"
    KNEE_PRECAUTION = "knee_precaution"
    STERNAL_PRECAUTION = "sternal_precaution"
    SPINE_STABLE_PRECAUTION = "spine_stable_precaution"
    UNSTABLE_SPINE = "unstable_spine"
    ABDOMINAL_WOUND = "abdominal_wound"
    STOMA = "stoma"
    RIB_FRACTURE = "rib_fracture"
    SHOULDER_INJURY = "shoulder_injury"
    UNSTABLE_MAJOR_FRACTURE = "unstable_major_fracture"
    SEVERE_OSTEOPOROSIS = "severe_osteoporosis"
    CONTRACTURE = "contracture"
    SPASMS = "spasms"
    FRAGILE_SKIN = "fragile_skin"
    PRESSURE_INJURY = "pressure_injury"
    TUBES_OR_LINES = "tubes_or_lines"
    AMPUTATION = "amputation"
    RECENT_SEDATION = "recent_sedation"
    POSTURAL_HYPOTENSION = "postural_hypotension"
    SEVERE_PAIN = "severe_pain"
    PREGNANCY = "pregnancy"
    # orders
    BED_REST = "bed_rest"
    ACTIVITY_WITH_HELP = "activity_with_help"
    ARM_ORDER = "arm_order"
    LEG_ORDER = "leg_order"
    ORDER_CONFLICT = "order_conflict"
    # seen in this screen
    ANAESTHETISED = "anaesthetised"
    DEEPLY_SEDATED = "deeply_sedated"
    ORTHOSTATIC_DROP = "orthostatic_drop"
    ORTHOSTATIC_SYMPTOMS = "orthostatic_symptoms"
    KNEE_BUCKLING = "knee_buckling"
    LOSS_OF_BALANCE = "loss_of_balance"
    LEANING_BACK = "leaning_back"
    DIZZINESS = "dizziness"
    ONE_SIDED_WEAKNESS = "one_sided_weakness"
    FALL_IN_YEAR = "fall_in_year"
    TUG_AT_RISK = "tug_at_risk"
    CHAIR_STAND_BELOW_AVERAGE = "chair_stand_below_average"
    VERY_HEAVY = "very_heavy"
    MASS_UNKNOWN = "mass_unknown"
    VITAL_SIGNS_NOT_TAKEN = "vital_signs_not_taken"
    # plausible but odd: asks for a second look and changes nothing else
    ODD_AGE = "odd_age"
    ODD_MASS = "odd_mass"
    MASS_UNIT_DOUBTFUL = "mass_unit_doubtful"
    # the place
    USES_WALKING_AID = "uses_walking_aid"
    NO_WALKING_AID = "no_walking_aid"
    CHAIR_DOES_NOT_RECLINE = "chair_does_not_recline"
    ARMRESTS_FIXED = "armrests_fixed"
    ARMRESTS_UNCHECKED = "armrests_unchecked"
    STRETCHER_STAYS_HIGH = "stretcher_stays_high"
    FLOOR_INJURY = "floor_injury"
    CANNOT_RISE_FROM_FLOOR = "cannot_rise_from_floor"
