"""What can be said of a resource that is looked at?"""

import re
from collections import Counter
from collections.abc import Sequence
from enum import StrEnum

from msgspec import Struct


class Severity(StrEnum):
    ERROR = "error"
    WARNING = "warning"
    INFORMATION = "information"


class Rule(StrEnum):
    """What is at fault, in a word that stays the same."""

    NOT_AN_OBJECT = "validate.not_an_object"
    UNKNOWN_TYPE = "validate.unknown_type"
    OTHER_TYPE = "validate.other_type"
    NO_RESOURCE = "validate.no_resource"
    MODE = "validate.mode"
    OTHER_ID = "validate.other_id"
    UNKNOWN_ELEMENT = "validate.unknown_element"
    JSON_FORM = "validate.json_form"
    EMPTY = "validate.empty"
    MISSING = "validate.missing"
    TOO_MANY = "validate.too_many"
    ONE_CHOICE = "validate.one_choice"
    VALUE_FORM = "validate.value_form"
    NOT_IN_CALENDAR = "validate.not_in_calendar"
    CODE_NOT_IN_SET = "validate.code_not_in_set"
    UNKNOWN_CODE = "validate.unknown_code"
    UNIT_FORM = "validate.unit_form"
    CODE_FORM = "validate.code_form"
    INVARIANT = "validate.invariant"
    REFERENCE_FORM = "validate.reference_form"
    REFERENCE_TYPE = "validate.reference_type"
    REFERENCE_DANGLING = "validate.reference_dangling"
    PROFILE = "validate.profile"
    PROFILE_UNKNOWN = "validate.profile_unknown"
    RESPONSE = "validate.response"
    OUTSIDE = "validate.outside"
    UNCHECKED = "validate.unchecked"
    MORE = "validate.more"
    NO_FAULT = "validate.no_fault"


# The FHIR issue type that goes with each.
ISSUE_TYPE = {
    Rule.NOT_AN_OBJECT: "structure",
    Rule.UNKNOWN_TYPE: "not-supported",
    Rule.OTHER_TYPE: "invalid",
    Rule.NO_RESOURCE: "required",
    Rule.MODE: "not-supported",
    Rule.OTHER_ID: "invalid",
    Rule.UNKNOWN_ELEMENT: "structure",
    Rule.JSON_FORM: "structure",
    Rule.EMPTY: "structure",
    Rule.MISSING: "required",
    Rule.TOO_MANY: "structure",
    Rule.ONE_CHOICE: "structure",
    Rule.VALUE_FORM: "value",
    Rule.NOT_IN_CALENDAR: "value",
    Rule.CODE_NOT_IN_SET: "code-invalid",
    Rule.UNKNOWN_CODE: "code-invalid",
    Rule.UNIT_FORM: "code-invalid",
    Rule.CODE_FORM: "code-invalid",
    Rule.INVARIANT: "invariant",
    Rule.REFERENCE_FORM: "value",
    Rule.REFERENCE_TYPE: "structure",
    Rule.REFERENCE_DANGLING: "not-found",
    Rule.PROFILE: "structure",
    Rule.PROFILE_UNKNOWN: "not-found",
    Rule.RESPONSE: "business-rule",
    Rule.OUTSIDE: "business-rule",
    Rule.UNCHECKED: "informational",
    Rule.MORE: "too-costly",
    Rule.NO_FAULT: "informational",
}
VALIDATE_FAULTS: dict[str, str] = {
    Rule.NOT_AN_OBJECT: "A resource is not a JSON object.",
    Rule.UNKNOWN_TYPE: "R4 has no such resource.",
    Rule.OTHER_TYPE: "It is not the type of resource that was named.",
    Rule.NO_RESOURCE: "No resource was sent.",
    Rule.MODE: "The mode of the question is not known here.",
    Rule.OTHER_ID: "The id is not the one that the address names.",
    Rule.UNKNOWN_ELEMENT: "The element is not known where it stands.",
    Rule.JSON_FORM: "It is written as another kind of JSON than its type is.",
    Rule.EMPTY: "Something empty was written.",
    Rule.MISSING: "Something that is required is not there.",
    Rule.TOO_MANY: "It is there more often than it may be.",
    Rule.ONE_CHOICE: "More than one type of a value was given.",
    Rule.VALUE_FORM: "The value is not written as its type is.",
    Rule.NOT_IN_CALENDAR: "The calendar has no such day.",
    Rule.CODE_NOT_IN_SET: "The code is not in the value set that is required.",
    Rule.UNKNOWN_CODE: "The code system has no such code.",
    Rule.UNIT_FORM: "The unit is not written as UCUM writes units.",
    Rule.CODE_FORM: "The code is not written as its system writes codes.",
    Rule.INVARIANT: "An invariant does not hold.",
    Rule.REFERENCE_FORM: "A reference is not written as one.",
    Rule.REFERENCE_TYPE: "A reference leads to a type that is not allowed there.",
    Rule.REFERENCE_DANGLING: "A reference leads to nothing in its Bundle.",
    Rule.PROFILE: "The value is not what a profile asks for.",
    Rule.PROFILE_UNKNOWN: "The profile is not kept here.",
    Rule.RESPONSE: "The response does not answer its questionnaire.",
    Rule.OUTSIDE: "A narrative shows something that lies elsewhere.",
    Rule.UNCHECKED: "Something was not looked at.",
    Rule.MORE: "There is more than is looked at or told.",
    Rule.NO_FAULT: "No fault was found.",
}
"""What each says, for the code system of faults."""


class Finding(Struct, frozen=True):
    """``path`` is a simple FHIRPath; ``text`` says what is wrong and what to do, and never
    repeats a value. ``key`` names the invariant or the profile, where there is one."""

    rule: Rule
    path: str
    text: str
    severity: Severity = Severity.ERROR
    key: str = ""

    @property
    def issue_type(self) -> str:
        return ISSUE_TYPE[self.rule]


_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]{0,63}")


def is_name(name: str) -> bool:
    """Whether ``name`` may be told: anything else could be a person's words."""
    return _NAME.fullmatch(name) is not None


def below(path: str, name: str) -> str:
    return f"{path}.{name}" if is_name(name) else path


def is_valid(findings: tuple[Finding, ...]) -> bool:
    return all(each.severity != Severity.ERROR for each in findings)


def summary(findings: Sequence[Finding]) -> str:
    """How many there are of what has to be mended."""
    count = Counter(each.severity for each in findings)
    return f"{count[Severity.ERROR]} errors, {count[Severity.WARNING]} warnings"
