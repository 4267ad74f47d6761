"""Which answers are mapped in these tests? The engine's own, bent where a state is wanted."""

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import msgspec
from msgspec.structs import replace

from service.domain.plan import Plan, PlanState
from service.domain.record import Answer, ScreenRecord, ScreenStatus
from service.domain.screen import Screen
from service.fhir.site import Site, site_of
from service.rules.load import load_book
from service.rules.norms import score_tests
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of

BOOK = load_book()
BASE = "http://stanchion.example:8765/fhir/R4"
SITE: Site = site_of(BOOK, BASE)
SCREEN_ID = "01957a3c-5d2e-7c41-9a6b-0c1d2e3f4a5b"
PLAN_ID = "01957a3c-5d2f-7c41-9a6b-0c1d2e3f4a5c"
EARLIER_PLAN = "01956b2a-1111-7c41-9a6b-0c1d2e3f4a5d"
PATIENT_ID = "01957a3c-5d30-7c41-9a6b-0c1d2e3f4a5e"
RECORDED_AT = datetime(2026, 3, 4, 7, 20, 5, 123000, tzinfo=UTC)

FULL = msgspec.json.decode(
    b"""{
    "patient": {
        "identifier": {"system": "urn:oid:2.999.7", "value": "H-1007"},
        "birth_date": "1948-03-02", "sex": "female",
        "mass_kg": 72.50, "mass_measured_at": "2026-03-03T07:00:00+01:00",
        "stature_cm": 162, "stature_measured_at": "2026-03-03T07:05:00+01:00",
        "popliteal_height_cm": 41.5, "seated_hip_breadth_cm": 40.0,
        "falls_last_12_months": 1, "injured_in_fall": false, "pregnant": false,
        "name": {"family": "Aldous", "given": "Mara"},
        "more_identifiers": [{"system": "urn:oid:2.999.70", "value": "N-12"}]
    },
    "encounter": {"system": "urn:oid:2.999.8", "value": "V-88"},
    "location": "harbour_ward/12", "setting": "rehabilitation",
    "assessor": {"identifier": {"system": "urn:oid:2.999.9", "value": "S-31"},
                 "role": "physiotherapist"},
    "observed_at": "2026-03-04T08:15:00+01:00", "source_id": "bedside-4711",
    "orders": {
        "weight_bearing": {
            "left_leg": {"order": "WBAT"}, "right_leg": {"order": "PWB", "percent": 50},
            "left_arm": {"order": "FWB"}, "right_arm": {"order": "FWB"}},
        "precautions": ["hip", "spasms", "amputation_left_arm"],
        "activity": "with_help", "prosthesis_worn": ["left_arm"]},
    "readiness": {
        "rass": 0, "instructions": "two_step", "cooperation": "cooperative",
        "anaesthetised": false, "pain_0_10": 3, "symptoms": ["dizziness", "nausea"],
        "vital_signs": {
            "spo2_percent": 96.0, "heart_rate_per_min": 82, "respiratory_rate_per_min": 16,
            "systolic_mmhg": 128, "diastolic_mmhg": 74, "mean_arterial_mmhg": 92,
            "mean_arterial_target_mmhg": 65, "temperature_celsius": 36.80,
            "fio2_fraction": 0.21, "oxygen_support": false, "vasopressor_support": false},
        "orthostatic": {
            "lying": {"systolic_mmhg": 130, "diastolic_mmhg": 76}, "from_sitting": true,
            "standing": {"systolic_mmhg": 122, "diastolic_mmhg": 74,
                         "minutes_after_standing": 1}}},
    "stages": {
        "sitting_balance": {"outcome": "achieved_with_help", "help": "steadying", "seconds": 30},
        "forward_lean": {"outcome": "achieved"},
        "arm_pull": {"left": {"outcome": "achieved"}, "right": {"outcome": "achieved"}},
        "knee_extension": {"left": {"mrc_grade": 4}, "right": {"mrc_grade": 3}},
        "rise": {"outcome": "achieved_with_help", "help": "lifting", "lift_kg": 8.50,
                 "lift_percent": 5,
                 "hands_used": true},
        "weight_shift": {"left": {"outcome": "achieved"},
                         "right": {"outcome": "achieved_with_help", "help": "lifting",
                                   "lift_kg": 3}},
        "heel_raise": {"left": {"outcome": "not_achieved"}, "right": {"outcome": "achieved"}},
        "timed_stand": {"seconds": 48.20, "ended_by": "fatigue"}},
    "signs": [{"stage": "weight_shift", "sign": "loss_of_balance"},
              {"stage": "rise", "sign": "pain"}],
    "tests": {
        "chair_stand_30s": {"count": 8, "arms_used": false},
        "five_times_sit_to_stand": {"seconds": null},
        "timed_up_and_go": {"seconds": 14.20},
        "gait_speed": {"distance_m": 4.0, "seconds": 6.10},
        "four_stage_balance": {"side_by_side_s": 10, "semi_tandem_s": 10, "tandem_s": 4.5,
                               "one_leg_s": 0},
        "functional_reach": {"reach_cm": 18.0},
        "hand_grip": {"left_kg": 18.5, "right_kg": 21.0},
        "mrc_sum": {
            "left": {"shoulder_abduction": 4, "elbow_flexion": 4, "wrist_extension": 4,
                     "hip_flexion": 4, "knee_extension": 4, "ankle_dorsiflexion": 4},
            "right": {"shoulder_abduction": 4, "elbow_flexion": 4, "wrist_extension": 4,
                      "hip_flexion": 3, "knee_extension": 3, "ankle_dorsiflexion": 3}},
        "sppb": {"side_by_side_s": 10, "semi_tandem_s": 10, "tandem_s": 4.5,
                 "chair_stands_s": null, "gait_4m_s": 6.10}},
    "context": {
        "trained_helpers": 2,
        "devices": [
            {"device_class": "stand_aid", "safe_working_load_kg": 150, "label": "Aid 3"},
            {"device_class": "full_body_sling_lift", "safe_working_load_kg": 250,
             "status": "overdue", "label": "Lift 1"}],
        "walking_aid": "at_hand", "floor_surface": "vinyl",
        "chair": {"reclines": true, "armrests_removable": true, "seat_height_cm": 46.0,
                  "outer_width_cm": 62.5},
        "bed": {"height_adjustable": true, "clearance_under_cm": 14.0},
        "stretcher": {"lowers_to_seat_height": true}}
    }""",
    type=Screen,
)
HELPED = msgspec.json.decode(
    b"""{
    "patient": {"identifier": {"system": "urn:oid:2.999.7", "value": "H-1009"},
                "birth_date": "1950-05-04", "mass_kg": 71.5, "falls_last_12_months": 0},
    "observed_at": "2026-03-04T08:15:00+01:00", "orders": {"precautions": []},
    "readiness": {"rass": 0, "instructions": "two_step", "cooperation": "cooperative",
                  "vital_signs": {"spo2_percent": 96, "heart_rate_per_min": 82,
                                  "respiratory_rate_per_min": 16, "systolic_mmhg": 128,
                                  "mean_arterial_mmhg": 90}},
    "stages": {
        "sitting_balance": {"outcome": "achieved", "seconds": 30},
        "forward_lean": {"outcome": "achieved"},
        "arm_pull": {"left": {"outcome": "achieved"}, "right": {"outcome": "achieved"}},
        "knee_extension": {"left": {"mrc_grade": 4}, "right": {"mrc_grade": 3}},
        "rise": {"outcome": "achieved", "hands_used": true},
        "weight_shift": {"left": {"outcome": "achieved"}, "right": {"outcome": "not_achieved"}},
        "timed_stand": {"seconds": 12, "ended_by": "fatigue"}}
    }""",
    type=Screen,
)
"""Rises holding on but does not step: helped up by a stand aid with a strap."""
BARE = msgspec.json.decode(
    b"""{"patient": {"identifier": {"system": "urn:oid:2.999.7", "value": "H-2"},
                     "age_years": 71},
         "observed_at": "2026-03-04T07:15:00Z", "orders": {"precautions": []},
         "readiness": {}, "stages": {}, "context": {"on_the_floor": {}}}""",
    type=Screen,
)


def answer_to(screen: Screen, status: ScreenStatus = ScreenStatus.FINAL) -> Answer:
    """The engine's answer to ``screen``, as if it had been recorded."""
    version = 1 if status == ScreenStatus.FINAL else 2
    record = ScreenRecord(SCREEN_ID, version, status, PATIENT_ID, RECORDED_AT, "ward key", screen)
    tests = score_tests(BOOK, screen)
    profile = profile_of(BOOK, screen, tests)
    plan = build_plan(BOOK, screen, profile, PlanIds(PLAN_ID, SCREEN_ID, version))
    plan = replace(plan, patient_id=PATIENT_ID, version=1)
    return Answer(record, profile, tests, plan, plan.rule_book)


def in_state(answer: Answer, state: PlanState) -> Answer:
    """``answer`` with its plan in ``state``."""
    return replace(answer, plan=replace(answer.plan, state=state, version=2))


def corrected(answer: Answer) -> Answer:
    """``answer`` as of a corrected screen, with a plan that replaces an earlier one."""
    record = replace(
        answer.screen, version=2, status=ScreenStatus.AMENDED, correction_reason="Wrong leg."
    )
    return replace(answer, screen=record, plan=replace(answer.plan, replaces=EARLIER_PLAN))


def withdrawn(answer: Answer) -> Answer:
    """``answer`` as of a screen that was entered in error."""
    record = replace(
        answer.screen, version=2, status=ScreenStatus.WITHDRAWN, correction_reason="Wrong person."
    )
    return replace(in_state(answer, PlanState.WITHDRAWN), screen=record)


def previewed(answer: Answer) -> Answer:
    """``answer`` with no patient and no plan event yet."""
    plan = replace(answer.plan, patient_id="", version=0)
    return replace(answer, screen=replace(answer.screen, patient_id=""), plan=plan)


HOSTILE = (
    "<script>alert('x')</script> & \"quoted\" \N{FACE WITH TEARS OF JOY} \x00\x0b\x1b\ufffe ]]>"
)
_FREE_TEXT = {
    "text", "title", "move_title", "method_title", "plain", "why", "seen", "required", "reason",
    "label", "role", "location", "source_id", "family", "given", "value", "recorded_by",
    "correction_reason", "note",
}  # fmt: skip


def hostile(value: Any) -> Any:
    """``value`` with every free text in it, at any depth, made hostile."""
    if isinstance(value, msgspec.Struct):
        changed = {name: _bent(name, getattr(value, name)) for name in value.__struct_fields__}
        return type(value)(**changed)
    if isinstance(value, list | tuple):
        return type(value)(hostile(one) for one in value)
    if isinstance(value, dict):
        return {key: hostile(one) for key, one in value.items()}
    return value


def _bent(name: str, value: Any) -> Any:
    return HOSTILE if name in _FREE_TEXT and type(value) is str else hostile(value)


def crowded(plan: Plan) -> Plan:
    """``plan`` with its first move waiting, and everything it says hostile."""
    first, *others = plan.moves
    waiting = replace(first, wait_for=("a second helper",), margin=("rise",))
    bent: Plan = hostile(replace(plan, moves=(waiting, *others)))
    return bent


STATES: dict[str, Callable[[], Answer]] = {
    "every field filled": lambda: answer_to(FULL),
    "helped up": lambda: answer_to(HELPED),
    "nothing but what must be sent": lambda: answer_to(BARE),
    "superseded": lambda: in_state(answer_to(BARE), PlanState.SUPERSEDED),
    "lapsed": lambda: in_state(answer_to(BARE), PlanState.LAPSED),
    "corrected": lambda: corrected(answer_to(FULL)),
    "withdrawn": lambda: withdrawn(answer_to(BARE)),
    "previewed": lambda: previewed(answer_to(BARE)),
    "hostile": lambda: replace(hostile(answer_to(FULL)), plan=crowded(answer_to(FULL).plan)),
}
