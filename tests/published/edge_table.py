"""On which side of every parameter does what happen? Typed by hand from the design."""

from service.domain.axis import Axis, Number
from service.domain.condition import Condition
from service.domain.move import Move
from tests.published.edges import (
    Edge,
    Fields,
    Look,
    accessories,
    exercise_says,
    grade,
    hours,
    margin,
    method,
    number,
    present,
    seat_percent,
    steps_say,
    stop_signs_say,
)

_STOOD = "stages/timed_stand/seconds"
_RISE = "stages/rise"
_WITH_HANDS: Fields = {_RISE: {"outcome": "achieved", "hands_used": True}}
_MASS, _STATURE = "patient/mass_kg", "patient/stature_cm"
_BREATHS = "Fewer than 5 or more than 40 breaths a minute."
_STEP_HELPED: Fields = {
    "stages/foot_lift/left": {"outcome": "achieved_with_help", "help": "steadying"}
}
_ASSISTED: Fields = {"stages/timed_stand/seconds": "20"}


def _vital(
    parameter: str, field: str, inside: object, beyond: object, sets: str
) -> tuple[Edge, Edge]:
    path = f"readiness/vital_signs/{field}"
    look = grade(Axis.CLEARANCE)
    # what stands beside the sign in a narrower band is told by its own edge
    return (
        Edge(parameter, {path: inside}, look, "review" if sets == "withhold_after" else "clear"),
        Edge(parameter, {path: beyond}, look, sets.removesuffix("_after")),
    )


def _drop(parameter: str, systolic: int, diastolic: int, shows: str, *, sitting: bool) -> Edge:
    fields: Fields = {
        "readiness/orthostatic": {
            "lying": {"systolic_mmhg": 130, "diastolic_mmhg": 80},
            "standing": {
                "systolic_mmhg": 130 - systolic,
                "diastolic_mmhg": 80 - diastolic,
                "minutes_after_standing": 1,
            },
            "from_sitting": sitting,
        }
    }
    return Edge(parameter, fields, present(Condition.ORTHOSTATIC_DROP), shows)


def _rass(parameter: str, value: int, look: Look, shows: str) -> Edge:
    return Edge(parameter, {"readiness/rass": value}, look, shows)


def _hours(setting: str, assisted: int, unassisted: int) -> tuple[Edge, Edge]:
    where: Fields = {"setting": setting}
    return (
        Edge(f"{setting}_assisted_h", where | _ASSISTED, hours, str(assisted)),
        Edge(f"{setting}_unassisted_h", where, hours, str(unassisted)),
    )


def _size(parameter: str, mass: str, stature: str, condition: Condition, shows: str) -> Edge:
    return Edge(parameter, {_MASS: mass, _STATURE: stature}, present(condition), shows)


_PRESENT, _ABSENT = "present", "absent"
_CLEARANCE, _SITS = grade(Axis.CLEARANCE), grade(Axis.SITTING)
_BEARS = grade(Axis.WEIGHT_BEARING)
_CALM = grade(Axis.COOPERATION)
_HEAVY, _POUNDS = Condition.VERY_HEAVY, Condition.MASS_UNIT_DOUBTFUL

CAPABILITY = [
    Edge("sitting_hold_s", {"stages/sitting_balance/seconds": "10"}, _SITS, "unsupported"),
    Edge("sitting_hold_s", {"stages/sitting_balance/seconds": "9.9"}, _SITS, "supported"),
    Edge("stand_5_s", {_STOOD: "5"}, _BEARS, "partial"),
    Edge("stand_5_s", {_STOOD: "4.9"}, _BEARS, "none"),
    Edge("stand_10_s", _WITH_HANDS | {_STOOD: "10"}, method(Move.STAND_FOR_CARE), "stand_aid"),
    Edge(
        "stand_10_s",
        _WITH_HANDS | {_STOOD: "9.9"},
        method(Move.STAND_FOR_CARE),
        "powered_stand_lift",
    ),
    Edge("stand_30_s", {_STOOD: "30"}, method(Move.BED_TO_CHAIR), "belt_steadied"),
    Edge("stand_30_s", {_STOOD: "29.9"}, method(Move.BED_TO_CHAIR), "stand_aid"),
    Edge("stand_60_s", {_STOOD: "60"}, _BEARS, "full"),
    Edge("stand_60_s", {_STOOD: "59.9"}, _BEARS, "partial"),
    Edge("margin_percent", {_STOOD: "65.9"}, margin(Move.BED_TO_CHAIR), "standing_time_s"),
    Edge("margin_percent", {_STOOD: "66"}, margin(Move.BED_TO_CHAIR), ""),
]
CLEARANCE = [
    *_vital("spo2_withhold_below", "spo2_percent", "90", "89.9", "withhold"),
    *_vital("heart_rate_withhold_above", "heart_rate_per_min", 150, 151, "withhold_after"),
    *_vital("heart_rate_review_above", "heart_rate_per_min", 130, 131, "review"),
    *_vital("heart_rate_review_below", "heart_rate_per_min", 40, 39, "review"),
    *_vital("mean_arterial_withhold_below", "mean_arterial_mmhg", 60, 59, "withhold"),
    *_vital("systolic_withhold_below", "systolic_mmhg", 90, 89, "withhold"),
    *_vital("systolic_withhold_above", "systolic_mmhg", 180, 181, "withhold"),
    *_vital("respiratory_rate_review_above", "respiratory_rate_per_min", 30, 31, "review"),
    *_vital("fio2_review_above", "fio2_fraction", "0.6", "0.61", "review"),
    *_vital("temperature_review_from", "temperature_celsius", "38.4", "38.5", "review"),
    _rass("rass_withhold_from", 2, _CLEARANCE, "review"),
    _rass("rass_withhold_from", 3, _CLEARANCE, "withhold"),
    _rass("rass_flat_only_to", -2, present(Condition.DEEPLY_SEDATED), _ABSENT),
    _rass("rass_flat_only_to", -3, present(Condition.DEEPLY_SEDATED), _PRESENT),
    _rass("rass_review_high", 1, _CLEARANCE, "clear"),
    _rass("rass_review_high", 2, _CLEARANCE, "review"),
    _rass("rass_review_low", -1, _CLEARANCE, "clear"),
    _rass("rass_review_low", -2, _CLEARANCE, "review"),
    _rass("rass_calm_high", 1, _CALM, "full"),
    _rass("rass_calm_high", 2, _CALM, "none"),
    _rass("rass_calm_low", -1, _CALM, "full"),
    _rass("rass_calm_low", -2, _CALM, "none"),
    _drop("orthostatic_systolic_drop", 19, 0, _ABSENT, sitting=False),
    _drop("orthostatic_systolic_drop", 20, 0, _PRESENT, sitting=False),
    _drop("orthostatic_diastolic_drop", 0, 9, _ABSENT, sitting=False),
    _drop("orthostatic_diastolic_drop", 0, 10, _PRESENT, sitting=False),
    _drop("orthostatic_systolic_drop_from_sitting", 14, 0, _ABSENT, sitting=True),
    _drop("orthostatic_systolic_drop_from_sitting", 15, 0, _PRESENT, sitting=True),
    _drop("orthostatic_diastolic_drop_from_sitting", 0, 6, _ABSENT, sitting=True),
    _drop("orthostatic_diastolic_drop_from_sitting", 0, 7, _PRESENT, sitting=True),
    Edge(
        "vital_signs_expected_acute",
        {"setting": "acute", "readiness/vital_signs": {}},
        present(Condition.VITAL_SIGNS_NOT_TAKEN),
        _PRESENT,
    ),
    Edge(
        "vital_signs_expected_acute",
        {"setting": "home", "readiness/vital_signs": {}},
        present(Condition.VITAL_SIGNS_NOT_TAKEN),
        _ABSENT,
    ),
]
SIZE = [
    _size("very_heavy_above_kg", "136.1", "150", _HEAVY, _ABSENT),
    _size("very_heavy_above_kg", "136.2", "150", _HEAVY, _PRESENT),
    _size("very_heavy_bmi_above", "162", "180", _HEAVY, _ABSENT),
    _size("very_heavy_bmi_above", "162.1", "180", _HEAVY, _PRESENT),
    # 15.7 % of 64 kg is 10.048 kg, told as 10.1
    Edge("leg_mass_percent", {_MASS: "64"}, number(Number.LEG_MASS_KG), "10.1"),
    Edge(
        "limb_two_hand_kg",
        {_MASS: "64", _STOOD: "30"} | _STEP_HELPED,
        accessories(Move.CHAIR_TO_BED),
        "",
    ),
    Edge(
        "limb_two_hand_kg",
        {_MASS: "64.4", _STOOD: "30"} | _STEP_HELPED,
        accessories(Move.CHAIR_TO_BED),
        "leg_lifter",
    ),
    Edge("odd_age_from", {"patient/age_years": 99}, present(Condition.ODD_AGE), _ABSENT),
    Edge("odd_age_from", {"patient/age_years": 100}, present(Condition.ODD_AGE), _PRESENT),
    _size("odd_mass_above_kg", "200", "165", Condition.ODD_MASS, _ABSENT),
    _size("odd_mass_above_kg", "200.1", "165", Condition.ODD_MASS, _PRESENT),
    _size("odd_mass_below_kg", "35", "165", Condition.ODD_MASS, _ABSENT),
    _size("odd_mass_below_kg", "34.9", "165", Condition.ODD_MASS, _PRESENT),
    # with a stature of 100 cm the mass is the index
    _size("pounds_bmi_above", "40.8", "100", _POUNDS, _PRESENT),
    _size("pounds_bmi_from", "40.7", "100", _POUNDS, _ABSENT),
    _size("pounds_bmi_from", "40.8", "100", _POUNDS, _PRESENT),
    _size("pounds_bmi_to", "66.1", "100", _POUNDS, _PRESENT),
    _size("pounds_bmi_to", "66.2", "100", _POUNDS, _ABSENT),
    _size("kg_a_pound", "40.8", "100", _POUNDS, _PRESENT),
    _size("kg_a_pound", "66.1", "100", _POUNDS, _PRESENT),
    _size("kg_a_pound", "66.2", "100", _POUNDS, _ABSENT),
]
SAID = [
    Edge("seat_start_low_percent", {}, seat_percent, "100 100"),
    Edge("seat_start_high_percent", {_STOOD: "30"} | _WITH_HANDS, seat_percent, "100 120"),
    *(
        Edge(parameter, {}, exercise_says(words), words)
        for parameter, words in (
            ("sit_to_stand_ward_per_day", "about 36 times"),
            ("sit_to_stand_community_per_day", "about 71 times"),
        )
    ),
    *(
        Edge(parameter, {}, stop_signs_say(words), words)
        for parameter, words in (
            ("stop_spo2_fall_above", "The oxygen level falls by more than 4 points."),
            ("stop_systolic_above", "The upper blood pressure goes over 180."),
            ("stop_respiratory_rate_below", _BREATHS),
            ("stop_respiratory_rate_above", _BREATHS),
        )
    ),
    Edge(
        "one_helper_leg_lift_up_to_kg",
        {_STOOD: "30"} | _STEP_HELPED,
        steps_say("up to 64 kg"),
        "up to 64 kg",
    ),
    *_hours("acute", 12, 24),
    *_hours("rehabilitation", 24, 72),
    *_hours("long_term_care", 168, 720),
    *_hours("home", 168, 720),
]
EDGES = [*CAPABILITY, *CLEARANCE, *SIZE, *SAID]
# Edges that the rows, claims and method table hold for everybody at once.
ELSEWHERE = {
    "heavy_from_kg",
    "air_preferred_from_kg",
    "anaesthetised_sheet_up_to_kg",
    "helper_lift_limit_kg",
    "nothing_lifted_kg",
}
