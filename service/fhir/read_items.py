"""How do the items of a response become the screen's own JSON?

Groups may come in any order and in several parts; one in which nothing is answered says nothing,
because some tools send every group. Texts of items are not looked at. Whatever is not asked here,
or not in its place, is a fault.
"""

from typing import Any

from msgspec import Struct, field

from service.domain.problem import Fault
from service.fhir.form import FormItem
from service.fhir.read_form import GROUPS, LISTED, THERE, UNABLE, Questions, is_instruction
from service.fhir.read_values import CODED, NOTHING, none_of, read_answer, version_faults

Document = dict[str, Any]


class Reading(Struct):
    """What has been read so far.

    ``document``: the screen's JSON. ``places``: JSON Pointer in it → pointer in what was sent.
    ``lost``: pointers of what was sent but could not be read. ``version``: that of the form and
    of the code systems.
    """

    version: str = ""
    document: Document = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    lost: set[str] = field(default_factory=set)

    def fault(self, place: str, rule: str, text: str) -> None:
        self.faults.append(Fault(place, rule, text))


class _Here(Struct, frozen=True):
    """The group that is being read: its link id, its JSON, its pointer there and as sent."""

    link: str
    into: Document
    native: str
    place: str


def read_items(reading: Reading, questions: Questions, items: Any, place: str) -> None:
    """Read the items of the response at ``place`` into ``reading``."""
    _items(reading, questions, items, _Here("", reading.document, "", place))


def _items(reading: Reading, questions: Questions, items: Any, here: _Here) -> bool:
    """Whether anything was said, be it at fault."""
    said = False
    for index, item in enumerate(items if isinstance(items, list) else ()):
        if not isinstance(item, dict):
            continue
        place = f"{here.place}/item/{index}"
        link = item.get("linkId")
        question = questions.get(link) if isinstance(link, str) else None
        if question is None and is_instruction(questions, item):
            continue
        if question is None:
            text = "The form asks no question with this linkId."
            reading.fault(f"{place}/linkId", "form.unknown_link", text)
            said = True
        elif question.above != here.link:
            where = f"in the group {question.above}" if question.above else "at the top"
            text = f"This linkId stands {where}."
            reading.fault(f"{place}/linkId", "form.place", text)
            reading.lost.add("/" + question.item.link.replace(".", "/"))
            said = True
        elif question.item.kind in GROUPS:
            said |= _group(reading, questions, item, question.item, here, place)
        else:
            said |= _question(reading, item, question.item, here, place)
    return said


def _group(
    reading: Reading,
    questions: Questions,
    item: Document,
    asked: FormItem,
    here: _Here,
    place: str,
) -> bool:
    if "answer" in item:
        text = "A group has items and no answers."
        reading.fault(f"{place}/answer", "form.place", text)
    known = here.into.get(asked.name)
    native = f"{here.native}/{asked.name}"
    if asked.kind == "each":
        native = f"{native}/{_number(known, place)}"
    inner: Document = known if isinstance(known, dict) else {}
    said = _items(reading, questions, item.get("item"), _Here(asked.link, inner, native, place))
    if asked.kind == "group":
        reading.places.setdefault(native, place)
    if not said:
        return False
    if asked.kind == "group":
        here.into[asked.name] = inner
    elif isinstance(known, str):
        text = f"{asked.link.removesuffix(f'.{LISTED}')} says that any will do."
        reading.fault(place, "form.contradiction", text)
    else:
        reading.places[native] = place
        here.into.setdefault(asked.name, []).append(inner)
    return True


def _number(known: Any, place: str) -> int | str:
    """Of one that is listed; where none should be, any that no other has."""
    if isinstance(known, str):
        return place.rpartition("/")[2]
    return len(known or ())


def _question(reading: Reading, item: Document, asked: FormItem, here: _Here, place: str) -> bool:
    name = asked.name
    native = f"{here.native}/{name}"
    if "item" in item:
        text = "A question has answers and no items of its own."
        reading.fault(f"{place}/item", "form.place", text)
    answers = item.get("answer")
    if not isinstance(answers, list) or not answers or _is_open_box(asked, answers):
        return "item" in item
    if native in reading.places:
        text = "This is answered already: several answers stand in one item."
        reading.fault(place, "form.repeated", text)
        return True
    reading.places[native] = f"{place}/answer/0"
    if asked.kind in CODED:
        reading.faults.extend(version_faults(answers, reading.version, place))
    if asked.kind == "choices":
        _choices(reading, asked, answers, native, here, place)
        return True
    for index in range(1, len(answers)):
        text = "This question takes one answer."
        reading.fault(f"{place}/answer/{index}", "form.several", text)
    value = read_answer(asked, answers[0], f"{place}/answer/0", reading.faults)
    if asked.kind == "limited":
        _limited(reading, name, value, here.into, place)
    elif value is NOTHING or len(answers) > 1:
        reading.lost.add(native)
    elif asked.kind != THERE:
        here.into[name] = value
    return True


def _is_open_box(asked: FormItem, answers: list[Any]) -> bool:
    """A box for "not able" or "nothing more to say" that was left open says nothing."""
    if asked.kind not in (UNABLE, THERE) or len(answers) != 1 or not isinstance(answers[0], dict):
        return False
    said = [name for name in answers[0] if name.startswith("value") or name == "item"]
    return said == ["valueBoolean"] and answers[0]["valueBoolean"] is False


def _choices(
    reading: Reading,
    asked: FormItem,
    answers: list[Any],
    native: str,
    here: _Here,
    place: str,
) -> None:
    codes: list[str] = []
    for index, answer in enumerate(answers):
        at = f"{place}/answer/{index}"
        code = read_answer(asked, answer, at, reading.faults)
        if code is NOTHING:
            reading.lost.add(native)
        else:
            reading.places[f"{native}/{len(codes)}"] = at
            codes.append(code)
    if native not in reading.lost:
        here.into[asked.name] = none_of(codes, place, reading.faults)


def _limited(reading: Reading, name: str, value: Any, into: Document, place: str) -> None:
    """Any will do, or those that are listed, be they none."""
    if value == LISTED:
        into.setdefault(name, [])
    elif value is not NOTHING and name in into:
        text = "This says that any will do, and some are listed."
        reading.fault(place, "form.contradiction", text)
    elif value is not NOTHING:
        into[name] = value
