"""Which code systems are spoken, and which standard code goes with one of our own?

Our own code always comes first and says exactly what is meant. A standard code is added
only where it is listed here, and every one listed was seen in a published value set.
"""

from service.fhir.structs import CodeableConcept, Coding

LOINC = "http://loinc.org"
SNOMED = "http://snomed.info/sct"
UCUM = "http://unitsofmeasure.org"
_CATEGORY = "http://terminology.hl7.org/CodeSystem/observation-category"
_ABSENT = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
_FLAG = "http://terminology.hl7.org/CodeSystem/flag-category"
_ACHIEVEMENT = "http://terminology.hl7.org/CodeSystem/goal-achievement"
_INTERPRETATION = "http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation"
_PARTICIPANT = "http://terminology.hl7.org/CodeSystem/provenance-participant-type"

STANDARD: dict[tuple[str, str], tuple[Coding, ...]] = {
    ("readiness", "pain_0_10"): (Coding(LOINC, "72514-3"),),
    ("test", "chair_stand_30s"): (Coding(LOINC, "66247-8"),),
    ("test", "timed_up_and_go"): (Coding(LOINC, "89423-8"),),
    ("test", "gait_speed_4m"): (Coding(LOINC, "83172-7"),),
    ("test_part", "chair_stand_30s.count_with_arms"): (Coding(LOINC, "93125-3"),),
    ("test_part", "hand_grip.left_kg"): (Coding(LOINC, "83173-5"),),
    ("test_part", "hand_grip.right_kg"): (Coding(LOINC, "83174-3"),),
    ("method", "belt_steadied"): (Coding(SNOMED, "710803000"),),
    ("method", "transfer_board"): (Coding(SNOMED, "107724000"),),
    ("method", "powered_stand_lift"): (Coding(SNOMED, "711036006"),),
    ("method", "sling_lift"): (Coding(SNOMED, "711036006"),),
    ("method", "floor_air_lift"): (Coding(SNOMED, "711036006"),),
    ("flag", "falls"): (Coding(SNOMED, "129839007"),),
    ("task", "rescreen"): (Coding(SNOMED, "430481008"),),
    ("vital_sign", "heart_rate_per_min"): (Coding(LOINC, "8867-4"),),
    ("vital_sign", "respiratory_rate_per_min"): (Coding(LOINC, "9279-1"),),
    ("vital_sign", "temperature_celsius"): (Coding(LOINC, "8310-5"),),
    ("vital_sign", "spo2_percent"): (Coding(LOINC, "2708-6"), Coding(LOINC, "59408-5")),
    ("vital_sign", "blood_pressure"): (Coding(LOINC, "85354-9"),),
    ("vital_sign", "systolic_mmhg"): (Coding(LOINC, "8480-6"),),
    ("vital_sign", "diastolic_mmhg"): (Coding(LOINC, "8462-4"),),
    ("vital_sign", "orthostatic"): (Coding(LOINC, "34553-8"),),
    ("vital_sign", "mass_kg"): (Coding(LOINC, "29463-7"),),
    ("vital_sign", "stature_cm"): (Coding(LOINC, "8302-2"),),
    ("vital_sign", "body_mass_index"): (Coding(LOINC, "39156-5"),),
}
"""(kind, own code) to the standard codings sent beside it. A display is never made up."""

SURVEY = CodeableConcept((Coding(_CATEGORY, "survey", "Survey"),), "Survey")
EXAM = CodeableConcept((Coding(_CATEGORY, "exam", "Exam"),), "Exam")
ACTIVITY = CodeableConcept((Coding(_CATEGORY, "activity", "Activity"),), "Activity")
FUNCTIONAL_STATUS = CodeableConcept(
    (Coding("http://hl7.org/fhir/us/core/CodeSystem/us-core-category", "functional-status"),),
    "Functional status",
)
ASSESS_PLAN = CodeableConcept(
    (Coding("http://hl7.org/fhir/us/core/CodeSystem/careplan-category", "assess-plan"),),
    "Assessment and plan of treatment",
)
VITAL_SIGNS = CodeableConcept((Coding(_CATEGORY, "vital-signs", "Vital Signs"),), "Vital signs")
SAFETY = CodeableConcept((Coding(_FLAG, "safety", "Safety"),), "Safety")
IN_PROGRESS = CodeableConcept(
    (Coding(_ACHIEVEMENT, "in-progress", "In Progress"),), "Not reached yet"
)
ACHIEVED = CodeableConcept((Coding(_ACHIEVEMENT, "achieved", "Achieved"),), "Reached")
LOW = CodeableConcept((Coding(_INTERPRETATION, "L", "Low"),), "Below the cut point")
HIGH = CodeableConcept((Coding(_INTERPRETATION, "H", "High"),), "Above the cut point")
FUNCTION_SURVEY = (SURVEY, FUNCTIONAL_STATUS)
TEST_CATEGORY: dict[str, tuple[CodeableConcept, ...]] = {
    "chair_stand_30s": (ACTIVITY,),
    "five_times_sit_to_stand": (ACTIVITY,),
    "timed_up_and_go": (ACTIVITY,),
    "gait_speed": (ACTIVITY,),
    "sppb": (ACTIVITY,),
    "four_stage_balance": (EXAM,),
    "functional_reach": (EXAM,),
    "hand_grip": (EXAM,),
    "mrc_sum": (EXAM,),
}

NOT_KNOWN = CodeableConcept((Coding(_ABSENT, "unknown", "Unknown"),), "Not known")
NOT_PERFORMED = CodeableConcept(
    (Coding(_ABSENT, "not-performed", "Not Performed"),), "Not attempted"
)
NOT_ABLE = CodeableConcept(
    (Coding(_ABSENT, "not-applicable", "Not Applicable"),), "Tried, not able to finish"
)

_AUTHOR, _ENTERER = (
    Coding(_PARTICIPANT, "author", "Author"),
    Coding(_PARTICIPANT, "enterer", "Enterer"),
)
AUTHOR = CodeableConcept((_AUTHOR,), "Screened the person")
CHOOSER = CodeableConcept(
    (_AUTHOR,), "Chose otherwise than was computed, or took such a choice back"
)
ASSEMBLER = CodeableConcept(
    (Coding(_PARTICIPANT, "assembler", "Assembler"),), "Made the plan from the screen"
)
ENTERER = CodeableConcept((_ENTERER,), "Sent the screen")
ENDER = CodeableConcept((_ENTERER,), "Sent word of what ended the plan")
