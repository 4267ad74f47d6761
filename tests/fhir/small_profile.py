"""Which profile of a few elements asks for every kind of thing that a profile can ask?"""

from typing import Any

from service.fhir.validate_known import Known, known_from

CANONICAL = "https://example.org/StructureDefinition"
URL = f"{CANONICAL}/small"
EXTENSION = f"{CANONICAL}/level"
STRUCTURE = "http://hl7.org/fhir/StructureDefinition"
CATEGORY = "http://terminology.hl7.org/CodeSystem/observation-category"
OWN = "https://example.org/CodeSystem/level"


def element(path: str, least: int = 0, most: str = "1", **more: Any) -> dict[str, Any]:
    """``path`` is the id; the path is the same without the names of slices."""
    plain = ".".join(step.partition(":")[0] for step in path.split("."))
    return {"id": path, "path": plain, "min": least, "max": most, **more}


BY_VALUE = {"discriminator": [{"type": "value", "path": "coding.code"}], "rules": "open"}
BY_URL = {"discriminator": [{"type": "value", "path": "url"}], "rules": "closed"}
SURVEY = {"coding": [{"system": CATEGORY, "code": "survey"}]}
ELEMENTS = [
    element("Observation", 0, "*", constraint=[
        {"key": "small-1", "severity": "error", "human": "A number needs its method.",
         "expression": "value.exists() implies method.exists()", "source": URL},
        {"key": "obs-6", "severity": "error", "human": "x", "expression": "false", "source": "y"},
    ]),
    element("Observation.extension", 1, "*", slicing=BY_URL),
    element("Observation.extension:level", 1, "1", sliceName="level",
            type=[{"code": "Extension", "profile": [EXTENSION]}]),
    element("Observation.category", 1, "*", slicing=BY_VALUE),
    element("Observation.category:survey", 1, "1", sliceName="survey",
            patternCodeableConcept=SURVEY),
    element("Observation.code", 1, "1", binding={"strength": "required", "valueSet": f"{OWN}s"},
            type=[{"code": "CodeableConcept"}]),
    element("Observation.code.text", 1, "1", type=[{"code": "string"}]),
    element("Observation.subject", 1, "1",
            type=[{"code": "Reference", "targetProfile": [f"{STRUCTURE}/Patient"]}]),
    element("Observation.value[x]", 1, "1",
            type=[{"code": "Quantity"}, {"code": "CodeableConcept"}]),
    element("Observation.method", type=[{"code": "CodeableConcept"}]),
    element("Observation.device", 0, "0", type=[{"code": "Reference"}]),
    element("Observation.note", 0, "1", type=[{"code": "Annotation"}]),
]  # fmt: skip
DEFINITIONS: list[dict[str, Any]] = [
    {"resourceType": "StructureDefinition", "url": URL, "type": "Observation",
     "snapshot": {"element": ELEMENTS}},
    {"resourceType": "StructureDefinition", "url": EXTENSION, "type": "Extension",
     "snapshot": {"element": [
         element("Extension", 0, "*"),
         element("Extension.url", 1, "1", fixedUri=EXTENSION),
         element("Extension.value[x]", 1, "1", type=[{"code": "code"}],
                 binding={"strength": "required", "valueSet": f"{OWN}s"}),
     ]}},
    {"resourceType": "CodeSystem", "url": OWN, "content": "complete",
     "concept": [{"code": "low"}, {"code": "high"}]},
    {"resourceType": "ValueSet", "url": f"{OWN}s", "compose": {"include": [{"system": OWN}]}},
]  # fmt: skip
KNOWN: Known = known_from(DEFINITIONS)
GOOD: dict[str, Any] = {
    "resourceType": "Observation",
    "meta": {"profile": [URL]},
    "text": {"status": "generated", "div": '<div xmlns="http://www.w3.org/1999/xhtml">a</div>'},
    "extension": [{"url": EXTENSION, "valueCode": "low"}],
    "status": "final",
    "category": [SURVEY, {"text": "other"}],
    "code": {"coding": [{"system": OWN, "code": "high"}], "text": "High"},
    "subject": {"reference": "Patient/p"},
    "valueQuantity": {"value": 1, "unit": "1"},
    "method": {"text": "counted"},
}
