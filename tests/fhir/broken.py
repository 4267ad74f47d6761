"""Which resources are good, and how is one broken in one place?"""

import copy
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

from service.fhir.validate import Wanted, validate
from service.fhir.validate_finding import Finding, Severity
from service.fhir.validate_known import NOTHING, Known

SAMPLES = sorted(
    (Path(__file__).parents[2] / "samples").glob("*/answer.fhir.json"), key=lambda path: path.parts
)
Json = dict[str, Any]
TEXT = {"status": "generated", "div": '<div xmlns="http://www.w3.org/1999/xhtml">Said.</div>'}
OBSERVATION: Json = {
    "resourceType": "Observation",
    "id": "a",
    "text": TEXT,
    "status": "final",
    "code": {"coding": [{"system": "http://loinc.org", "code": "29463-7"}], "text": "Mass"},
    "subject": {"reference": "Patient/p"},
    "effectiveDateTime": "2026-01-31T09:30:00+01:00",
    "valueQuantity": {
        "value": Decimal("72.50"),
        "unit": "kg",
        "system": "http://unitsofmeasure.org",
        "code": "kg",
    },
}


def read(path: Path) -> Json:
    document: Json = json.loads(path.read_bytes(), parse_float=Decimal)
    return document


def changed(resource: Json, path: str, value: Any) -> Json:
    """``resource`` with ``value`` at ``path``; ``...`` takes away what is there."""
    made = copy.deepcopy(resource)
    *above, last = path.split(".")
    at: Any = made
    for step in above:
        at = at[int(step)] if step.isdecimal() else at.setdefault(step, {})
    if value is ...:
        del at[last]
    elif last.isdecimal():
        at[int(last)] = value
    else:
        at[last] = value
    return made


def faults(
    resource: Any, known: Known = NOTHING, *profiles: str, kind: str = ""
) -> list[tuple[str, str]]:
    """(rule without its room, path) of each error and warning, without the narrative's."""
    return [
        (each.rule.removeprefix("validate."), each.path)
        for each in found(resource, known, *profiles, kind=kind)
    ]


def found(
    resource: Any, known: Known = NOTHING, *profiles: str, kind: str = ""
) -> tuple[Finding, ...]:
    told = validate(resource, known, Wanted(kind, profiles))
    return tuple(each for each in told if each.severity != Severity.INFORMATION)
