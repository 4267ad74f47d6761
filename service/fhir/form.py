"""Which questions does the screen's form ask? Read off the screen's own fields.

The link id of a question is the path of its field: ``stages.arm_pull.left.outcome``.
"""

from collections.abc import Callable, Mapping
from enum import Enum
from typing import Any

import msgspec.inspect as shape
from msgspec import Struct
from msgspec.structs import replace

from service.domain.screen import Screen
from service.fhir.form_limits import NO_LIMITS, Limits, limits_of
from service.fhir.own_screen_codes import AVAILABILITY, NONE, kebab
from service.fhir.resources import Answer, ResponseItem
from service.fhir.structs import Coding
from service.fhir.text import sentence, uncapital, words
from service.fhir.units import unit_of, without_unit

SystemOf = Callable[[str], str]
"""Our code system for a kind of code."""
WordOf = Callable[[str, str], str | None]
"""How a code of a kind is said."""
Ready = Mapping[Any, tuple[Answer, ResponseItem, str]]
_ROOMS = {"patient", "orders", "readiness", "stages", "tests", "context"}
FIELD_WORDS = {
    "age_years": "Age",
    "lift_kg": "Mass that the helper held up",
    "lift_percent": "Share of the body mass that the helper held up",
    "rass": "Richmond Agitation-Sedation Scale (RASS)",
    "mrc_grade": "MRC grade",
    "mrc_sum": "MRC sum",
    "sppb": "Short Physical Performance Battery",
    "spo2_percent": "Oxygen saturation",
    "fio2_fraction": "Fraction of inspired oxygen",
    "pain_0_10": "Pain, 0 to 10",
    "gait_4m_s": "Gait over 4 m",
    "chair_stand_30s": "30-second chair stand",
}
"""Where the name of a field is not made of words."""


ASKS = "asks"
"""The end of the link id under which the form says how to ask, right before what is asked."""


class FormItem(Struct, frozen=True, kw_only=True):
    """One question or group. ``kind``: group, each, choice, choices, limited, boolean,
    integer, quantity, date, moment, string or uri.

    ``kept``: a group that says something by being there.
    ``there``: where nothing in such a group need be answered, the answer that it is there.
    ``unable``: an empty answer must be sent and says that the person was not able.
    ``ready`` holds, for every value of a closed list, the answered item and its line of
    narrative, so that nothing is built for them while answering.
    """

    name: str
    link: str
    text: str
    label: str
    kind: str
    unit: str | None = None
    parts: tuple["FormItem", ...] = ()
    ready: Ready = {}
    kept: bool = False
    unable: tuple[ResponseItem, str] | None = None
    there: tuple[ResponseItem, str] | None = None
    limits: Limits = NO_LIMITS


class _Place(Struct, frozen=True):
    """Where an item stands and what it is called."""

    name: str
    link: str
    text: str
    label: str
    limits: Limits = NO_LIMITS

    def item(
        self,
        kind: str,
        *,
        unit: str | None = None,
        parts: tuple[FormItem, ...] = (),
        ready: Ready | None = None,
        kept: bool = False,
        unable: tuple[ResponseItem, str] | None = None,
    ) -> FormItem:
        return FormItem(
            name=self.name, link=self.link, text=self.text, label=self.label,
            kind=kind, unit=unit, parts=parts, ready=ready or {}, kept=kept, unable=unable,
            limits=self.limits,
        )  # fmt: skip

    def answered(self, answer: Answer, said: str) -> tuple[Answer, ResponseItem, str]:
        item = ResponseItem(link_id=self.link, text=self.text, answer=(answer,))
        return answer, item, f"{self.label}: {said}"


def _unsaid(_kind: str, _code: str) -> None:
    return None


class _Maker(Struct, frozen=True):
    """Makes form items; ``titles`` are the rule book's words for
    fields that have some, by link."""

    system_of: SystemOf
    titles: Mapping[str, str]
    word_of: WordOf = _unsaid

    def items(self, kind: shape.Type, above: str) -> tuple[FormItem, ...]:
        if not isinstance(kind, shape.StructType):
            raise TypeError(f"{above}: {kind} has no fields to ask for.")
        return tuple(self.item(field, above) for field in kind.fields)

    def item(self, field: shape.Field, above: str) -> FormItem:
        link = f"{above}.{field.name}" if above else field.name
        text = self.title(link)
        label = self.label(link.split("."))
        at = _Place(field.name, link, text, label, limits_of(field))
        kind = _bare(field.type)
        if isinstance(kind, shape.StructType):
            group = at.item("group", parts=self.items(kind, link), kept=field.default is None)
            bare = group.kept and not any(one.required for one in kind.fields)
            return replace(group, there=_there(at)) if bare else group
        if isinstance(kind, shape.UnionType):
            return self.limited(kind, at)
        if isinstance(kind, shape.ListType):
            return self.many(kind, field, at)
        if isinstance(kind, shape.EnumType):
            return at.item("choice", ready=self.choices(kind.cls, at))
        if isinstance(kind, shape.BoolType):
            return at.item("boolean", ready=_booleans(at))
        return _open_item(kind, field, at)

    def label(self, path: list[str]) -> str:
        """The whole path in words; the rooms of the screen go without saying."""
        titles = [self.title(".".join(path[: place + 1])) for place in range(len(path))]
        first, *rest = titles[1:] if path[0] in _ROOMS and titles[1:] else titles
        return ", ".join([first, *[uncapital(title) for title in rest]])

    def title(self, link: str) -> str:
        """The words for a field, without the unit that its name ends in."""
        name = link.rpartition(".")[2]
        return self.titles.get(link) or FIELD_WORDS.get(name) or sentence(without_unit(name))

    def limited(self, kind: shape.UnionType, at: _Place) -> FormItem:
        """Either the word ``any`` or a list of what there is."""
        listed = next(part for part in kind.types if isinstance(part, shape.ListType))
        parts = self.items(_bare(listed.item_type), f"{at.link}.listed")
        ready = self.coded("availability", AVAILABILITY, at)
        return at.item("limited", parts=parts, ready=ready)

    def many(self, kind: shape.ListType, field: shape.Field, at: _Place) -> FormItem:
        inner = _bare(kind.item_type)
        if not isinstance(inner, shape.EnumType):
            return at.item("each", parts=self.items(inner, at.link))
        none = self.coded(kebab(inner.cls), (NONE,), at) if field.required else {}
        return at.item("choices", ready={**self.choices(inner.cls, at), **none})

    def choices(self, cls: type[Enum], at: _Place) -> Ready:
        return self.coded(kebab(cls), tuple(member.value for member in cls), at)

    def coded(self, kind: str, codes: tuple[str, ...], at: _Place) -> Ready:
        system = self.system_of(kind)
        said = {code: self.word_of(kind, code) or sentence(code) for code in codes}
        return {
            code: at.answered(Answer(value_coding=Coding(system, code, word)), words(code))
            for code, word in said.items()
        }


def _booleans(at: _Place) -> Ready:
    return {
        value: at.answered(Answer(value_boolean=value), word)
        for value, word in ((True, "yes"), (False, "no"))
    }


def _open_item(kind: shape.Type, field: shape.Field, at: _Place) -> FormItem:
    if isinstance(kind, shape.DecimalType | shape.IntType):
        unit = unit_of(at.name)
        kind_of = "quantity" if unit else "integer"
        return at.item(kind_of, unit=unit, unable=_unable(field, at))
    if at.name == "system":
        return at.item("uri")
    return at.item(_OPEN[type(kind)])


def _unable(field: shape.Field, at: _Place) -> tuple[ResponseItem, str] | None:
    if not (field.required and isinstance(_unwrapped(field.type), shape.UnionType)):
        return None
    beside = _Place(at.name, f"{at.link}.unable", "Not able", f"{at.label}, not able")
    _, item, line = beside.answered(Answer(value_boolean=True), "yes")
    return item, line


def _there(at: _Place) -> tuple[ResponseItem, str]:
    text = f"{at.text}, nothing more to say"
    beside = _Place("there", f"{at.link}.there", text, at.label)
    _, item, line = beside.answered(Answer(value_boolean=True), "nothing more said")
    return item, line


_OPEN: dict[type[shape.Type], str] = {
    shape.StrType: "string",
    shape.DateType: "date",
    shape.DateTimeType: "moment",
}


def _unwrapped(kind: shape.Type) -> shape.Type:
    return _unwrapped(kind.type) if isinstance(kind, shape.Metadata) else kind


def _bare(kind: shape.Type) -> shape.Type:
    """``kind`` without its metadata and without "or null"."""
    kind = _unwrapped(kind)
    if not isinstance(kind, shape.UnionType):
        return kind
    said = [part for part in map(_bare, kind.types) if not isinstance(part, shape.NoneType)]
    return said[0] if len(said) == 1 else shape.UnionType(tuple(said))


def form_of(
    system_of: SystemOf, titles: Mapping[str, str], word_of: WordOf = _unsaid
) -> tuple[FormItem, ...]:
    """The whole form, in the order of the screen's fields."""
    return _Maker(system_of, titles, word_of).items(shape.type_info(Screen), "")
