"""How does a screen go out as a QuestionnaireResponse, every answered field in its place?"""

from collections.abc import Callable
from typing import Any

from msgspec.structs import replace

from service.domain.record import ScreenRecord, ScreenStatus
from service.domain.stages import Outcome, Stages
from service.domain.stop_rule import STANDING, closed_stages, outcomes_of
from service.fhir.form import FormItem
from service.fhir.narrative import bullets, narrative, struck
from service.fhir.own_screen_codes import NONE
from service.fhir.resources import Answer, QuestionnaireResponse, ResponseItem
from service.fhir.site import Site
from service.fhir.structs import Identifier, Meta
from service.fhir.subject import assessor_of, encounter_of, subject_of
from service.fhir.text import tidy, tidy_uri, zoned
from service.fhir.units import quantity, shown, written

QUESTIONNAIRE = "bedside-mobility-screen"
RESPONSE_STATUS = {
    ScreenStatus.FINAL: "completed",
    ScreenStatus.AMENDED: "amended",
    ScreenStatus.WITHDRAWN: "entered-in-error",
}
_Lines = list[str]
_Items = list[ResponseItem]


def response_of(site: Site, record: ScreenRecord) -> QuestionnaireResponse:
    """The screen as answered. The narrative says every answer."""
    lines: _Lines = []
    items = _answered(_asked(site.form, record.content.stages), record.content, lines)
    assessor = assessor_of(record)
    observed = zoned(record.content.observed_at)
    text = narrative(bullets("Bedside mobility screen as answered", lines))
    return QuestionnaireResponse(
        id=record.id,
        meta=Meta(
            version_id=str(record.version),
            last_updated=zoned(record.recorded_at),
            profile=(site.profile("questionnaire-response"),),
        ),
        text=struck(text) if record.status == ScreenStatus.WITHDRAWN else text,
        identifier=Identifier(site.identifier_system("screen"), record.id),
        questionnaire=site.definition("Questionnaire", QUESTIONNAIRE),
        status=RESPONSE_STATUS[record.status],
        subject=subject_of(site, record),
        encounter=encounter_of(record),
        authored=observed,
        author=assessor,
        item=items,
    )


def _asked(form: tuple[FormItem, ...], stages: Stages) -> tuple[FormItem, ...]:
    """``form`` without the stages that the stop rule closed, as long as nothing was tried there."""
    closed = {
        f"stages.{stage}"
        for stage in closed_stages(stages)
        if stage in STANDING and set(outcomes_of(stages, stage)) == {Outcome.NOT_ATTEMPTED}
    }
    if not closed:
        return form
    return tuple(
        [
            replace(item, parts=tuple([part for part in item.parts if part.link not in closed]))
            if item.name == "stages"
            else item
            for item in form
        ]
    )


def _answered(form: tuple[FormItem, ...], value: Any, lines: _Lines) -> tuple[ResponseItem, ...]:
    items: _Items = []
    for item in form:
        given = getattr(value, item.name)
        if given is not None:
            _FILL[item.kind](item, given, items, lines)
        elif item.unable is not None:
            unable, line = item.unable
            items.append(unable)
            lines.append(line)
    return tuple(items)


def _group(item: FormItem, given: Any, items: _Items, lines: _Lines) -> None:
    inner = _answered(item.parts, given, lines)
    if not inner and item.there is not None:
        there, line = item.there
        inner = (there,)
        lines.append(line)
    if inner:
        items.append(ResponseItem(link_id=item.link, text=item.text, item=inner))


def _each(item: FormItem, given: Any, items: _Items, lines: _Lines) -> None:
    for one in given:
        _group(item, one, items, lines)


def _ready(item: FormItem, given: Any, items: _Items, lines: _Lines) -> None:
    _, made, line = item.ready[given]
    items.append(made)
    lines.append(line)


def _choices(item: FormItem, given: Any, items: _Items, lines: _Lines) -> None:
    chosen = [item.ready[one] for one in given]
    if not chosen and NONE in item.ready:
        chosen = [item.ready[NONE]]
    if chosen:
        answers = tuple([answer for answer, _, _ in chosen])
        items.append(ResponseItem(link_id=item.link, text=item.text, answer=answers))
        lines.extend([line for _, _, line in chosen])


def _limited(item: FormItem, given: Any, items: _Items, lines: _Lines) -> None:
    if given == "any":
        return _ready(item, "any", items, lines)
    _ready(item, "listed", items, lines)
    for one in given:
        inner = _answered(item.parts, one, lines)
        items.append(ResponseItem(link_id=f"{item.link}.listed", text=item.text, item=inner))
    return None


def _open(answer: Callable[[FormItem, Any], tuple[Answer, str]]) -> Callable[..., None]:
    def fill(item: FormItem, given: Any, items: _Items, lines: _Lines) -> None:
        value, words = answer(item, given)
        items.append(ResponseItem(link_id=item.link, text=item.text, answer=(value,)))
        lines.append(f"{item.label}: {words}")

    return fill


def _quantity(item: FormItem, given: Any) -> tuple[Answer, str]:
    unit = str(item.unit)
    return Answer(value_quantity=quantity(given, unit)), f"{written(given)} {shown(unit)}"


def _string(_: FormItem, given: Any) -> tuple[Answer, str]:
    text = tidy(given)
    return Answer(value_string=text), text


def _uri(_: FormItem, given: Any) -> tuple[Answer, str]:
    text = tidy_uri(given)
    return Answer(value_uri=text), text


def _moment(_: FormItem, given: Any) -> tuple[Answer, str]:
    moment = zoned(given)
    return Answer(value_date_time=moment), moment.isoformat()


_FILL: dict[str, Callable[[FormItem, Any, _Items, _Lines], None]] = {
    "group": _group,
    "each": _each,
    "choice": _ready,
    "boolean": _ready,
    "choices": _choices,
    "limited": _limited,
    "integer": _open(lambda _, given: (Answer(value_integer=given), str(given))),
    "quantity": _open(_quantity),
    "date": _open(lambda _, given: (Answer(value_date=given), given.isoformat())),
    "moment": _open(_moment),
    "string": _open(_string),
    "uri": _open(_uri),
}
