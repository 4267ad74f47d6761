"""What does the first validator say against the standard where it looks at definitions?

Each seen, and looked up there. ``rings``: a right definition or example that sets it off.
"""

import json

from pyrofile_validator import ValidationIssue

from service.demo.scenario import here
from service.demo.scenario import read as read_samples
from service.fhir.codes import STANDARD
from service.fhir.definitions.everything import all_definitions
from service.fhir.definitions.examples import examples
from service.fhir.definitions.guide import guide
from service.fhir.encode import bytes_of
from tests.fhir.answers import SITE
from tests.fhir.definitions.published import PLAIN, Json
from tests.fhir.false_alarms import Alarm
from tests.fhir.false_alarms import is_known as is_known_elsewhere
from tests.fhir.lifted import parts

EXAMPLE_RAW = {
    name: bytes_of(one)
    for name, one in examples(SITE, [one.screen for one in read_samples(here())]).items()
}
EXAMPLES: dict[str, Json] = {name: json.loads(raw) for name, raw in EXAMPLE_RAW.items()}
_STANDARD = "|".join(sorted({one.code for each in STANDARD.values() for one in each}))
_SYSTEMS = ("profile.binding.required", "profile.element.binding.required")
_FORM = PLAIN["Questionnaire/bedside-mobility-screen"]
_GUIDE: Json = json.loads(bytes_of(guide(SITE, all_definitions(SITE)[:2], {})))
_PANEL = PLAIN["StructureDefinition/stanchion-panel"]
_ALARMS = (
    Alarm(
        code="cardinality.min",
        path=r"Questionnaire(\.item\[\d+\])+\.(answerOption|initial)\[\d+\]\.value\[x\]",
        why="It does not see a value by the name that it is written under.",
        rings=_FORM,
    ),
    Alarm(
        code="cardinality.min",
        path=r"CodeSystem\.concept\[\d+\]\.property\[\d+\]\.value\[x\]",
        why="The same of the value of a property.",
        rings=PLAIN["CodeSystem/rule"],
    ),
    Alarm(
        code="profile.element.cardinality.max",
        path=r"ValueSet\.compose\.include\.(system|version)",
        why="Counts the parts of a value set together, where each may have one system.",
        rings=PLAIN["ValueSet/finding-codes"],
    ),
    Alarm(
        code="cardinality.min",
        path=r"Questionnaire(\.item\[\d+\])+\.enableWhen\[\d+\]\.answer\[x\]",
        why="The same of the answer in a condition.",
        rings=_FORM,
    ),
    Alarm(
        code="datatype.unknown-field",
        path=r"Questionnaire(\.item\[\d+\]){3,}\.\w+(\[\d+\])?(\.\w+)?",
        why="Items three deep are read as if they had no definition. The neighbouring release's"
        " models and the evaluator beside this file look at them.",
        rings=_FORM,
    ),
    Alarm(
        code="profile.element.cardinality.max",
        path=r"Questionnaire\.item\.(answerOption|enableWhen)\.\w+(\[x\])?",
        why="Counts the options and conditions of all items together.",
        rings=next(part for part in parts(_FORM)[1:] if "enableWhen" in str(part)),
    ),
    Alarm(
        code="profile.element.invariant.que-7",
        path=r"Questionnaire\.item\.enableWhen",
        why="It does not see of which type an answer is by the name it is written under.",
        rings=next(part for part in parts(_FORM)[1:] if "'exists'" in str(part)),
    ),
    Alarm(
        code="extension.context",
        path=r"Questionnaire(\.item){2,}",
        why="An item within an item is what an outermost one is, and may hold what that may.",
        rings=_FORM,
    ),
    Alarm(
        code="datatype.unknown-field",
        path=r"StructureDefinition\.(snapshot|differential)\.element\[\d+\]\..+",
        why="It knows no parts of an element. test_snapshot.py and the neighbouring release's"
        " models look at them.",
        rings=_PANEL,
    ),
    Alarm(
        code="profile.element.cardinality.max",
        path=r"CodeSystem\.concept\.property\.\w+(\[x\])?",
        why="Counts the properties of a concept together, where each may have one.",
        rings=PLAIN["CodeSystem/rule"],
    ),
    Alarm(
        code="profile.element.cardinality.max",
        path=r"ConceptMap\.group\.element\.(target\.)?\w+",
        why="Counts the elements of a group together, where each may have one.",
        rings=PLAIN["ConceptMap/method-to-snomed"],
    ),
    Alarm(
        code="profile.element.cardinality.max",
        path=r"ImplementationGuide\.definition\.resource\.\w+(\[x\]|\.reference)?",
        why="Counts what is told of all resources together.",
        rings=_GUIDE,
    ),
)
_PACKAGE_ALARMS = (
    Alarm(
        code="profile.slice.cardinality.max",
        path=r"CarePlan\.activity\.detail\.extension:[a-z-]+",
        why="Counts the extensions of all activities together, where each may have one.",
        rings=EXAMPLES["care-plan"],
    ),
    *[
        Alarm(
            code=code,
            path=r"\w+(\.activity\.detail)?\.code",
            message=rf"Code '({_STANDARD})' is not in",
            why="A required binding asks that one coding is of the set, not that all are.",
            rings=EXAMPLES["vital-sign"],
        )
        for code in _SYSTEMS
    ],
)
ALARMS = (*_ALARMS, *_PACKAGE_ALARMS)


def is_known(issue: ValidationIssue) -> bool:
    return is_known_elsewhere(issue) or any(alarm.raised(issue) for alarm in ALARMS)
