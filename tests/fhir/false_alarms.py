"""What does the first validator say against the standard? Each seen, and looked up there.

Every alarm has a right resource that sets it off: tests/fhir/test_false_alarms.py asks whether it
still does, so that an alarm the validator no longer raises leaves this list.
"""

import re
from typing import Any

from msgspec import Struct
from pyrofile_validator import ValidationIssue

from service.fhir.site import CANONICAL

Document = dict[str, Any]
_PANEL = {"text": "a panel"}
_RESPONSE: Document = {
    "resourceType": "QuestionnaireResponse",
    "id": "a",
    "status": "completed",
    "text": {"status": "generated", "div": '<div xmlns="http://www.w3.org/1999/xhtml">a</div>'},
}
_OBSERVATION: Document = {
    "resourceType": "Observation",
    "id": "a",
    "status": "final",
    "text": _RESPONSE["text"],
    "code": _PANEL,
}
_SERVER: Document = {
    "resourceType": "CapabilityStatement",
    "id": "a",
    "name": "Server",
    "status": "active",
    "text": _RESPONSE["text"],
    "description": "a",
    "date": "2026-03-04",
    "kind": "instance",
    "implementation": {"description": "a"},
    "fhirVersion": "4.0.1",
    "format": ["json"],
    "rest": [
        {
            "mode": "server",
            "resource": [
                {"type": "Patient", "interaction": [{"code": "read"}, {"code": "vread"}]},
                {"type": "Task", "interaction": [{"code": "read"}]},
            ],
        }
    ],
}


class Alarm(Struct, frozen=True, kw_only=True):
    """``code`` of the issue, where (``path``, a pattern of the whole) and, where that is not
    enough, ``message`` (a pattern somewhere in it). ``rings``: a right resource with it."""

    code: str
    path: str
    message: str = ""
    why: str
    rings: Document

    def raised(self, issue: ValidationIssue) -> bool:
        return (
            issue.code == self.code
            and re.fullmatch(self.path, str(issue.path)) is not None
            and re.search(self.message, str(issue.message)) is not None
        )


def is_known(issue: ValidationIssue) -> bool:
    """Whether ``issue`` is one of the false alarms."""
    return any(alarm.raised(issue) for alarm in ALARMS)


def _coded(system: str, code: str) -> Document:
    return {"linkId": "a", "answer": [{"valueCoding": {"system": system, "code": code}}]}


ALARMS = (
    Alarm(
        code="questionnaire.unresolved",
        path=r"QuestionnaireResponse\.questionnaire",
        why="Our Questionnaire is not in the official package.",
        rings={**_RESPONSE, "questionnaire": f"{CANONICAL}/Questionnaire/a|1.0.0"},
    ),
    Alarm(
        code="reference.unresolved",
        path=r".+",
        why="A reference leads to another resource of the server, which is not given along."
        " tests/fhir/own_checks.py looks at references, and over the whole Bundle.",
        rings={**_RESPONSE, "subject": {"reference": "Patient/a"}},
    ),
    Alarm(
        code="modifierExtension.present",
        path=r".+",
        why="Raised for the mere presence of a status, which is a modifier by definition.",
        rings=_RESPONSE,
    ),
    Alarm(
        code="profile.element.binding.extensible",
        path=r".+",
        why="An extensible binding allows another code where no code of the set means the same.",
        rings={
            **_OBSERVATION,
            "dataAbsentReason": {"coding": [{"system": f"{CANONICAL}/a", "code": "a"}]},
        },
    ),
    Alarm(
        code="terminology.extensible",
        path=r".+",
        why="The same, said by another part of the validator.",
        rings={
            **_OBSERVATION,
            "interpretation": [{"coding": [{"system": f"{CANONICAL}/a", "code": "a"}]}],
        },
    ),
    Alarm(
        code="datatype.unknown-field",
        path=r"QuestionnaireResponse(\.item\[\d+\]){3}\.(linkId|text|answer|item)",
        why="Items three deep are read as if they had no definition. tests/fhir/lifted.py lifts"
        " them to where they are looked at.",
        rings={
            **_RESPONSE,
            "item": [{"linkId": "a", "item": [{"linkId": "b", "item": [{"linkId": "c"}]}]}],
        },
    ),
    Alarm(
        code="profile.element.cardinality.max",
        path=r"QuestionnaireResponse\.item\.answer\.value\[x\]",
        why="Counts the values of all answers together, where each answer may have one.",
        rings={
            **_RESPONSE,
            "item": [{"linkId": "a", "answer": [{"valueInteger": 1}, {"valueInteger": 2}]}],
        },
    ),
    Alarm(
        code="terminology.code-system",
        path=r".+",
        message=rf" in code system {re.escape(CANONICAL)}/",
        why="Takes our code system for an official one whose address ends in the same word.",
        rings={**_RESPONSE, "item": [_coded(f"{CANONICAL}/CodeSystem/device-status", "ready")]},
    ),
    Alarm(
        code="invariant.dom-6",
        path=r"Device",
        why="A contained resource needs no narrative. tests/fhir/own_checks.py asks for one in"
        " every other.",
        rings={
            **_OBSERVATION,
            "contained": [{"resourceType": "Device", "id": "d"}],
            "device": {"reference": "#d"},
        },
    ),
    Alarm(
        code="profile.unknown",
        path=r".+",
        message=rf"{re.escape(CANONICAL)}/StructureDefinition/stanchion-",
        why="Our profiles are not in the official package.",
        rings={
            **_OBSERVATION,
            "meta": {"profile": [f"{CANONICAL}/StructureDefinition/stanchion-finding"]},
        },
    ),
    Alarm(
        code="bundle.searchset.total",
        path=r"Bundle\.total",
        why="A search may leave the total out, and does where counting would be dear.",
        rings={
            "resourceType": "Bundle",
            "type": "searchset",
            "entry": [
                {
                    "fullUrl": "https://care.example/Observation/a",
                    "resource": _OBSERVATION,
                    "search": {"mode": "match"},
                }
            ],
        },
    ),
    Alarm(
        code="profile.element.invariant.bdl-8",
        path=r"Bundle\.entry",
        why="An entry without a fullUrl has none that could be of one version."
        " tests/fhir/test_invariants.py looks at those with one.",
        rings={
            "resourceType": "Bundle",
            "type": "transaction-response",
            "entry": [{"response": {"status": "201 Created"}}],
        },
    ),
    Alarm(
        code="cardinality.min",
        path=r"Task\.output\[\d+\]\.value\[x\]",
        why="It does not see a value by the name that it is written under.",
        rings={
            **_RESPONSE,
            "resourceType": "Task",
            "intent": "plan",
            "output": [
                {"type": _PANEL, "valueReference": {"reference": "QuestionnaireResponse/a"}}
            ],
        },
    ),
    Alarm(
        code="profile.element.cardinality.max",
        path=r"CapabilityStatement\.rest\.(interaction|resource)(\.(interaction|searchParam|"
        r"operation))?\.\w+",
        why="Counts the parts of all types together, where each type may have one.",
        rings=_SERVER,
    ),
)
