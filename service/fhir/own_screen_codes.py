"""Which codes do the screen's own fields give us, and which are ours to name what we send?"""

from collections.abc import Iterator, Mapping
from enum import Enum

import msgspec.inspect as shape

from service.domain.screen import Screen
from service.domain.sense_rules import RULES
from service.fhir.own_codes import OwnCode, OwnSystem, own, system
from service.fhir.read_faults import FORM_FAULTS
from service.fhir.text import words

NONE = "none"
"""What a list that must be sent says when it is empty."""
AVAILABILITY = ("any", "listed")
_TOLD = {
    "NWB": "No weight (NWB)",
    "TTWB": "Toes touch only (TTWB)",
    "PWB": "Partial weight (PWB)",
    "WBAT": "Weight as tolerated (WBAT)",
    "FWB": "Full weight (FWB)",
    "any": "Any, not limited",
    "listed": "Only what is listed",
}
"""Words for codes that are not made of words."""
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
        {
            "screened": "Screen recorded, plan made from it",
            "corrected": "Screen corrected, plan made anew",
            "withdrawn": "Screen and plan marked as entered in error",
        },
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
    "source_id.taken": "The sender's own id belongs to a screen stored before.",
    "cursor.unknown": "The cursor is not one of ours.",
    "merge.self": "A patient cannot be merged into itself.",
    "correction.unchanged": "A correction cannot change this field.",
}


def screen_systems() -> Iterator[OwnSystem]:
    """Every closed list that the screen's fields draw on, then what only leaves."""
    for kind, members in sorted(_enums().items()):
        title = f"{words(kind).replace('-', ' ').capitalize()} in a screen"
        yield system(kind, title, "As recorded in a bedside mobility screen.", members)
    told = [own(code, _TOLD[code]) for code in AVAILABILITY]
    yield system("availability", "What is at hand", "Whether means are limited.", told)
    for kind, (title, said, codes) in _SENT.items():
        yield system(kind, title, said, [own(code, told) for code, told in codes.items()])
    yield system("fault", "Faults", "What is wrong with what was sent.", _faults())


def _faults() -> Iterator[OwnCode]:
    for code, told in {**_FAULTS, **FORM_FAULTS, **RULES}.items():
        yield own(code, told)


def kebab(cls: type[Enum]) -> str:
    """The kind of code that an enum's members are."""
    return "".join(f"-{part.lower()}" if part.isupper() else part for part in cls.__name__)[1:]


def _enums() -> Mapping[str, list[OwnCode]]:
    found: dict[str, list[OwnCode]] = {}
    for cls, must_be_sent in _lists(shape.type_info(Screen), required=False):
        members = found.setdefault(kebab(cls), [_member(str(one.value)) for one in cls])
        if must_be_sent:
            members.append(own(NONE, "None"))
    return found


def _member(code: str) -> OwnCode:
    return own(code, _TOLD.get(code, ""))


def _lists(kind: shape.Type, *, required: bool) -> Iterator[tuple[type[Enum], bool]]:
    """Every enum in ``kind``, and whether it is asked for as a list that must be sent."""
    if isinstance(kind, shape.Metadata):
        yield from _lists(kind.type, required=required)
    elif isinstance(kind, shape.EnumType):
        yield kind.cls, False
    elif isinstance(kind, shape.ListType):
        for cls, _ in _lists(kind.item_type, required=False):
            yield cls, required and isinstance(_bare(kind.item_type), shape.EnumType)
    elif isinstance(kind, shape.UnionType):
        for part in kind.types:
            yield from _lists(part, required=required)
    elif isinstance(kind, shape.StructType):
        for field in kind.fields:
            yield from _lists(field.type, required=field.required)


def _bare(kind: shape.Type) -> shape.Type:
    return _bare(kind.type) if isinstance(kind, shape.Metadata) else kind
