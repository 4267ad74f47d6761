"""How is the screen's form published, so that a form tool can show it at the bedside?

Only core R4 and core extensions are used: every answer option stands in the form, so that it
works without a terminology server.
"""

from collections.abc import Mapping
from decimal import Decimal

from msgspec import Struct

from service.domain.stages import Stage
from service.fhir.codes import UCUM
from service.fhir.definitions.code_systems import ordinal
from service.fhir.definitions.form_elements import (
    Condition,
    Initial,
    Item,
    Option,
    Questionnaire,
)
from service.fhir.definitions.heads import Mark, head
from service.fhir.definitions.shown_when import REQUIRED_WHEN_SHOWN, Seen, Shown, shown_when
from service.fhir.form import ASKS, FormItem
from service.fhir.form_limits import Limits, Number
from service.fhir.narrative import bullets
from service.fhir.own_screen_codes import AVAILABILITY, NONE
from service.fhir.questionnaire_response import QUESTIONNAIRE
from service.fhir.site import Site
from service.fhir.structs import CodeableConcept, Coding
from service.fhir.units import shown

_CORE = "http://hl7.org/fhir/StructureDefinition/"
_CATEGORY = "http://hl7.org/fhir/questionnaire-display-category"
_INSTRUCTIONS = CodeableConcept((Coding(_CATEGORY, "instructions", "Instructions"),))
_TYPES = {
    "group": "group",
    "each": "group",
    "choice": "choice",
    "choices": "choice",
    "limited": "choice",
    "boolean": "boolean",
    "integer": "integer",
    "quantity": "quantity",
    "date": "date",
    "moment": "dateTime",
    "string": "string",
    "uri": "url",
}
_TITLE = "Bedside mobility screen"
_ABOUT = (
    "Can this person be moved now, and do they sit, lean forward, pull with the arms, straighten"
    " the knees, rise, take weight and step? For adults, by trained staff. Later stages are hidden"
    " once the standing part has ended. Whoever sends the answers gets a plan for every move."
)


class _Form(Struct, frozen=True):
    """``asks``: what is said to whoever asks, by the name of a field. ``items``: by link id."""

    site: Site
    asks: Mapping[str, str]
    when: Mapping[str, Shown]
    items: Mapping[str, FormItem]


class _Within(Struct, frozen=True):
    """In which group an item stands. ``needed``: one that must be answered; inside any other
    nothing is required, because form tools would ask for it all the same. ``always``: one that is
    always there; inside any other nothing has an initial answer, which would make it be there."""

    needed: bool
    always: bool


_KNOWN_OTHERWISE = ("patient",)
"""Who the person is, the response's subject may say, and the service may know already."""
_ALWAYS = _Within(needed=True, always=True)
_SOMETIMES = _Within(needed=False, always=False)


def questionnaire(site: Site) -> Questionnaire:
    """The form whose answers are read as a screen."""
    stages = {stage.value: site.book.stages[stage.value].asks for stage in Stage}
    every = {item.link: item for item in _every(site.form)}
    form = _Form(site, {**site.book.asks, **stages}, shown_when(), every)
    parts = [item.text for item in site.form]
    return Questionnaire(
        **head(site, "Questionnaire", QUESTIONNAIRE, _TITLE, _ABOUT, bullets("Parts", parts)),
        subject_type=("Patient",),
        item=tuple([made for item in site.form for made in _items(form, item, _ALWAYS)]),
    )


def _is_optional(item: FormItem) -> bool:
    """Whether a group says something by being there."""
    return item.kept or item.kind == "each"


def _every(items: tuple[FormItem, ...]) -> list[FormItem]:
    return [one for item in items for one in (item, *_every(item.parts))]


def _items(form: _Form, item: FormItem, within: _Within) -> list[Item]:
    """The item of a field, and what stands beside it."""
    question = _question(form, item, within)
    before = [] if question.type == "group" else _instructions(form, item)
    if item.kind == "limited":
        return [*before, question, _listed(form, item)]
    if item.unable is not None:
        return [*before, question, _unable(form, item)]
    return [*before, question]


def _question(form: _Form, item: FormItem, within: _Within) -> Item:
    conditions = form.when.get(item.link, ())
    limits = item.limits
    parts = () if item.kind == "limited" else item.parts
    needed = within.needed and limits.required and item.link not in _KNOWN_OTHERWISE
    required = item.link in REQUIRED_WHEN_SHOWN or (needed and item.kind != "group")
    inside = _Within(needed=needed, always=within.always and not _is_optional(item))
    return Item(
        extension=(*_unit(item), *_bounds(item), *_most(item)),
        link_id=item.link,
        text=item.text,
        type=_TYPES[item.kind],
        enable_when=tuple([_condition(form, seen) for seen in conditions]),
        enable_behavior="any" if len(conditions) > 1 else None,
        required=True if required else None,
        repeats=True if item.kind in ("each", "choices") else None,
        max_length=limits.longest,
        answer_option=_options(form.site, item, within),
        initial=_initial(item) if within.always else (),
        item=(
            *(_instructions(form, item) if item.kind == "group" else ()),
            *[one for part in parts for one in _items(form, part, inside)],
            *_there(item),
        ),
    )


def _listed(form: _Form, item: FormItem) -> Item:
    """The list that "only what is listed" opens."""
    link = f"{item.link}.{AVAILABILITY[-1]}"
    return Item(
        extension=_most(item),
        link_id=link,
        text=item.text,
        type="group",
        enable_when=tuple([_condition(form, seen) for seen in form.when[link]]),
        repeats=True,
        item=tuple([one for part in item.parts for one in _items(form, part, _SOMETIMES)]),
    )


def _unable(form: _Form, item: FormItem) -> Item:
    """In place of a result: the person was not able."""
    beside = f"{item.link}.unable"
    return Item(
        link_id=beside,
        text="Not able",
        type="boolean",
        enable_when=(_condition(form, Seen(item.link, answer=False)),),
    )


def _there(item: FormItem) -> tuple[Item, ...]:
    """Where a group is there and nobody can say more: tools leave one out that has no answer."""
    if item.there is None:
        return ()
    answer, _ = item.there
    return (Item(link_id=answer.link_id, text=str(answer.text), type="boolean"),)


def _condition(form: _Form, seen: Seen) -> Condition:
    if isinstance(seen.answer, bool):
        return Condition(question=seen.question, operator="exists", answer_boolean=seen.answer)
    coding = form.items[seen.question].ready[seen.answer][0].value_coding
    return Condition(question=seen.question, operator="=", answer_coding=coding)


def _options(site: Site, item: FormItem, within: _Within) -> tuple[Option, ...]:
    initial = item.limits.initial if within.always else None
    if item.kind not in ("choice", "choices", "limited"):
        return ()
    made = []
    for code, (answer, _, _) in item.ready.items():
        coding = answer.value_coding
        if coding is not None:
            alone = item.kind == "choices" and code == NONE
            marks = (Mark(url=f"{_CORE}questionnaire-optionExclusive", value_boolean=True),)
            rank = site.own[coding.system.rpartition("/")[2]].codes[code].rank
            made.append(
                Option(
                    extension=marks if alone else ordinal(rank),
                    value_coding=coding,
                    initial_selected=True if code == initial else None,
                )
            )
    return tuple(made)


def _initial(item: FormItem) -> tuple[Initial, ...]:
    given = item.limits.initial
    if given is None or given not in item.ready:
        return ()
    answer = item.ready[given][0].value_boolean
    return () if answer is None else (Initial(value_boolean=answer),)


def _unit(item: FormItem) -> tuple[Mark, ...]:
    if item.unit is None:
        return ()
    coding = Coding(UCUM, item.unit, shown(item.unit))
    return (Mark(url=f"{_CORE}questionnaire-unitOption", value_coding=coding),)


def _bounds(item: FormItem) -> tuple[Mark, ...]:
    limits: Limits = item.limits
    ends = (("minValue", limits.low), ("maxValue", limits.high))
    return tuple([_end(name, value) for name, value in ends if value is not None])


def _end(name: str, value: Number) -> Mark:
    if isinstance(value, Decimal):
        return Mark(url=f"{_CORE}{name}", value_decimal=value)
    return Mark(url=f"{_CORE}{name}", value_integer=value)


def _most(item: FormItem) -> tuple[Mark, ...]:
    most = item.limits.most
    if most is None:
        return ()
    return (Mark(url=f"{_CORE}questionnaire-maxOccurs", value_integer=most),)


def _instructions(form: _Form, item: FormItem) -> list[Item]:
    """How to ask, in the words of the rule book: at the head of a group, else before the question,
    so that no question has items of its own."""
    told = form.asks.get(item.name)
    if told is None or (item.name in form.site.book.stages and item.kind != "group"):
        return []
    mark = Mark(url=f"{_CORE}questionnaire-displayCategory", value_codeable_concept=_INSTRUCTIONS)
    return [Item(extension=(mark,), link_id=f"{item.link}.{ASKS}", text=told, type="display")]
