"""Which codes do the closed lists of the screen's own fields give us?"""

from collections.abc import Iterator, Mapping
from enum import Enum

import msgspec.inspect as shape

from service.domain.context import FloorInjury
from service.domain.orders import Activity, WeightBearingOrder
from service.domain.readiness import Cooperation, Instructions
from service.domain.screen import Screen
from service.domain.stages import Help, Outcome
from service.fhir.own_codes import OwnCode, OwnSystem, own, system
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
_ORDERED = (
    (Outcome.NOT_ACHIEVED, Outcome.ACHIEVED_WITH_HELP, Outcome.ACHIEVED),
    Help, Instructions, Cooperation, WeightBearingOrder, Activity, FloorInjury,
)  # fmt: skip
"""Lists that stand in order, worst first. What was not attempted has no place among outcomes."""
_RANKS: dict[tuple[type[Enum], str], int] = {
    (type(member), member.value): rank for one in _ORDERED for rank, member in enumerate(one)
}


def screen_systems() -> Iterator[OwnSystem]:
    """Every closed list that the screen's fields draw on."""
    for kind, members in sorted(_enums().items()):
        title = f"{words(kind).replace('-', ' ').capitalize()} in a screen"
        yield system(kind, title, "As recorded in a bedside mobility screen.", members)
    told = [own(code, _TOLD[code]) for code in AVAILABILITY]
    yield system("availability", "What is at hand", "Whether means are limited.", told)


def kebab(cls: type[Enum]) -> str:
    """The kind of code that an enum's members are."""
    return "".join(f"-{part.lower()}" if part.isupper() else part for part in cls.__name__)[1:]


def _enums() -> Mapping[str, list[OwnCode]]:
    found: dict[str, list[OwnCode]] = {}
    for cls, must_be_sent in _lists(shape.type_info(Screen), required=False):
        members = found.setdefault(kebab(cls), [_member(one) for one in cls])
        if must_be_sent:
            members.append(own(NONE, "None"))
    return found


def _member(member: Enum) -> OwnCode:
    code = str(member.value)
    return own(code, _TOLD.get(code, ""), rank=_RANKS.get((type(member), code)))


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
