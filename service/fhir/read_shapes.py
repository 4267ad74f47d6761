"""Does a response that was sent have the common form, so that no closer look is needed?

Structs of what form tools send. What does not fit may still be good R4: then the elements are
looked at one by one (:mod:`service.fhir.read_elements`).
"""

from datetime import date
from decimal import Decimal
from typing import Annotated, Any

import msgspec
from msgspec import UNSET, Meta, Struct, UnsetType

_DAY = r"[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"
_CLOCK = r"([01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9](\.[0-9]+)?"
_ZONE = r"(Z|[+-](0[0-9]|1[0-3]):[0-5][0-9]|[+-]14:00)"
_DAY_LONG = len("2026-03-04")
Text = Annotated[str, Meta(min_length=1)]
Uri = Annotated[str, Meta(pattern=r"^\S+$")]
Code = Annotated[str, Meta(pattern=r"^\S+$")]
Id = Annotated[str, Meta(pattern=r"^[A-Za-z0-9.-]{1,64}$")]
Day = Annotated[str, Meta(pattern=f"^{_DAY}$")]
Moment = Annotated[str, Meta(pattern=f"^{_DAY}T{_CLOCK}{_ZONE}$")]


class _Part(Struct, frozen=True, forbid_unknown_fields=True, rename="camel", kw_only=True):
    """Nothing that is not named."""


class _Coding(_Part, frozen=True):
    system: Uri = ""
    version: Text = ""
    code: Code = ""
    display: Text = ""


class _Quantity(_Part, frozen=True):
    value: int | Decimal = 0
    unit: Text = ""
    system: Uri = ""
    code: Code = ""


class _Identifier(_Part, frozen=True):
    system: Uri = ""
    value: Text = ""


class _Reference(_Part, frozen=True):
    reference: Text = ""
    type: Uri = ""
    identifier: _Identifier | UnsetType = UNSET
    display: Text = ""


class _Answer(_Part, frozen=True):
    value_boolean: bool = False
    value_integer: int = 0
    value_date: Day = ""
    value_date_time: Moment = ""
    value_string: Text = ""
    value_uri: Uri = ""
    value_coding: _Coding = _Coding()
    value_quantity: _Quantity = _Quantity()


class _Item(_Part, frozen=True):
    link_id: Text
    text: Text = ""
    answer: Annotated[list[_Answer], Meta(min_length=1)] = []
    item: Annotated[list["_Item"], Meta(min_length=1)] = []


class _Meta(_Part, frozen=True):
    version_id: Id = ""
    last_updated: Moment = ""
    profile: Annotated[list[Uri], Meta(min_length=1)] = []


class _Narrative(_Part, frozen=True):
    status: Code
    div: Text


class _Response(_Part, frozen=True, kw_only=True):
    resource_type: Text
    id: Id = ""
    meta: _Meta | UnsetType = UNSET
    text: _Narrative | UnsetType = UNSET
    identifier: _Identifier | UnsetType = UNSET
    questionnaire: Uri = ""
    status: Code
    subject: _Reference | UnsetType = UNSET
    encounter: _Reference | UnsetType = UNSET
    authored: Moment = ""
    author: _Reference | UnsetType = UNSET
    source: _Reference | UnsetType = UNSET
    item: Annotated[list[_Item], Meta(min_length=1)] = []


def is_common(raw: Any) -> bool:
    """Whether ``raw`` is a QuestionnaireResponse of the common form: every element known and
    of its type, nothing null, no extension. An answer may still hold two values, or none."""
    try:
        # a Decimal told as a text is none: without naming the type it would be read as one
        response = msgspec.convert(raw, _Response, strict=True, builtin_types=(Decimal,))
    except msgspec.ValidationError:
        return False
    return in_calendar(response.authored)


def in_calendar(moment: str) -> bool:
    """Whether the day of a date or a time, if it names one, is a day."""
    if len(moment) < _DAY_LONG:
        return True
    try:
        date.fromisoformat(moment[:_DAY_LONG])
    except ValueError:
        return False
    return True
