"""Which codes name what we send, beside those of the rule book and of the screen's fields?"""

from collections.abc import Iterator

from service.domain.sense_rules import RULES
from service.fhir.own_codes import OwnSystem, own, system
from service.fhir.read_faults import FORM_FAULTS
from service.fhir.validate_finding import VALIDATE_FAULTS

VITAL_SIGNS = {
    "spo2_percent": "Oxygen saturation",
    "heart_rate_per_min": "Heart rate",
    "respiratory_rate_per_min": "Respiratory rate",
    "temperature_celsius": "Body temperature",
    "fio2_fraction": "Fraction of inspired oxygen",
    "blood_pressure": "Blood pressure",
    "systolic_mmhg": "Systolic pressure",
    "diastolic_mmhg": "Diastolic pressure",
    "mean_arterial_mmhg": "Mean arterial pressure",
    "orthostatic": "Blood pressure before and after standing up",
    "minutes_after_standing": "Minutes after standing up",
    "mass_kg": "Body mass",
    "stature_cm": "Stature",
    "body_mass_index": "Body mass index",
}
DONE = {
    "screened": "Screen recorded, plan made from it",
    "corrected": "Screen corrected, plan made anew",
    "overruled": "Screen recorded, plan made from it, a clinician chose otherwise",
    "taken_back": "Screen recorded, plan made from it, a clinician's choice taken back",
    "ended": "Screen recorded, plan made from it, plan ended early",
    "withdrawn": "Screen and plan marked as entered in error",
}
BODY_POSITIONS = {"lying": "Lying", "sitting": "Sitting", "standing": "Standing"}
_SENT: dict[str, tuple[str, str, dict[str, str]]] = {
    "finding": (
        "Findings", "What a whole screen is called.",
        {"bedside_mobility_screen": "Bedside mobility screen"},
    ),
    "care_plan_category": (
        "Categories of plans", "Which plan it is.",
        {"safe_patient_handling": "Safe patient handling plan"},
    ),
    "readiness": (
        "Readiness", "What is looked at before a person is moved.",
        {
            "rass": "Richmond Agitation-Sedation Scale",
            "instructions": "Instructions followed",
            "cooperation": "Cooperation",
            "anaesthetised": "Anaesthetised",
            "pain_0_10": "Pain, 0 to 10",
            "symptoms": "Symptoms",
        },
    ),
    "component": (
        "Parts of findings", "A side, the help given, or a sign.",
        dict.fromkeys(
            (
                "left", "right",
                *(
                    f"{side}{part}"
                    for part in ("help", "lift_held", "share_held")
                    for side in ("", "left_", "right_")
                ),
                "time_held", "hands_used", "ended_by", "sign_seen", "symptom",
            ),
            "",
        ),
    ),
    "provenance_activity": (
        "What was done", "How a screen came to be as it is.",
        DONE,
    ),
    "vital_sign": (
        "Vital signs", "What was measured, and its parts.",
        VITAL_SIGNS,
    ),
    "body_position": (
        "Body positions", "How the person was while the pressure was taken.",
        BODY_POSITIONS,
    ),
    "flag": (
        "Flags", "What whoever comes to the bedside must know at once.",
        {
            "falls": "At risk of falls",
            "do_not_move": "Do not move now",
            "moves_not_now": "Some moves are not to be made now",
        },
    ),
    "task": ("Tasks", "What is due.", {"rescreen": "Screen again"}),
    "task_output": (
        "Outputs of tasks", "What doing a task gave.", {"screen": "The screen that was made"},
    ),
    "device_version": (
        "Versions of the software", "What a version of the software names.",
        {"rule_book_digest": "SHA-256 of the rule book"},
    ),
}  # fmt: skip
_FAULTS = {
    "shape.missing": "A field that must be sent is not there.",
    "shape.empty": "A value is empty.",
    "shape.unknown_field": "A field is not known here.",
    "shape.word": "A word is none of those allowed.",
    "shape.type": "A value is of another type.",
    "shape.range": "A number is outside its limits.",
    "shape.decimals": "A number has too many decimals.",
    "shape.length": "A text or list is too long or too short.",
    "shape.pattern": "A text does not have its form.",
    "shape.time": "A time or date is not written as one.",
    "json.empty": "The body is empty.",
    "json.encoding": "The body is not UTF-8.",
    "json.malformed": "The body is no JSON.",
    "json.too_deep": "The body is nested too deep.",
    "json.duplicate_key": "A key stands twice in one object.",
    "search.unknown": "A parameter of a search is not known here.",
    "search.value": "A parameter of a search has a value that it cannot have.",
    "search.too_costly": "A search asks for more than is answered at once.",
    "source_id.taken": "The sender's own id belongs to a screen stored before.",
    "cursor.unknown": "The cursor is not one of ours.",
    "merge.self": "A patient cannot be merged into itself.",
    "correction.unchanged": "A correction cannot change this field.",
    "overrule.move": "The plan does not answer for this move.",
    "overrule.method": "This method does not serve the move.",
    "overrule.same": "The plan says this method already.",
    "lapse.trigger": "The plan names no such trigger.",
    "lapse.happened_at": "What ended a plan cannot have happened later than now.",
}


def sent_systems() -> Iterator[OwnSystem]:
    """By hand, for they stand in no file and no field."""
    for kind, (title, said, codes) in _SENT.items():
        yield system(kind, title, said, [own(code, told) for code, told in codes.items()])
    told_of = {**_FAULTS, **FORM_FAULTS, **VALIDATE_FAULTS, **RULES}
    faults = [own(str(code), told) for code, told in told_of.items()]
    yield system("fault", "Faults", "What is wrong with what was sent.", faults)
