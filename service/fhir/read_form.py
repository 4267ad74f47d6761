"""Which question does a link id name, and in which group does it stand?"""

from collections.abc import Iterator, Mapping
from typing import Any

from msgspec import Struct

from service.fhir.form import ASKS, FormItem

GROUPS = ("group", "each")
LISTED, UNABLE, THERE = "listed", "unable", "there"


class Question(Struct, frozen=True):
    """A question or a group of the form; ``above`` is the link id of its group, or empty."""

    item: FormItem
    above: str


Questions = Mapping[str, Question]

_made: dict[int, tuple[tuple[FormItem, ...], Questions]] = {}


def questions_of(form: tuple[FormItem, ...]) -> Questions:
    """Link id → question, made once for a form."""
    known = _made.get(id(form))
    if known is None or known[0] is not form:
        known = (form, {one.item.link: one for one in _all(form, "")})
        _made[id(form)] = known
    return known[1]


def _all(form: tuple[FormItem, ...], above: str) -> Iterator[Question]:
    for item in form:
        yield Question(item, above)
        if item.kind == "limited":
            listed = _beside(item, LISTED, "each", item.parts)
            yield Question(listed, above)
            yield from _all(item.parts, listed.link)
        else:
            yield from _all(item.parts, item.link)
        if item.unable is not None:
            yield Question(_beside(item, UNABLE, UNABLE), above)
        if item.there is not None:
            yield Question(_beside(item, THERE, THERE), item.link)


def _beside(item: FormItem, word: str, kind: str, parts: tuple[FormItem, ...] = ()) -> FormItem:
    """What the form asks beside ``item``, for the same field."""
    link = f"{item.link}.{word}"
    return FormItem(
        name=item.name, link=link, text=item.text, label=item.label, kind=kind, parts=parts
    )


def is_instruction(questions: Questions, item: Mapping[str, Any]) -> bool:
    """Whether ``item`` is what the form says to whoever asks. A tool may send it along."""
    asked, _, end = str(item.get("linkId")).rpartition(".")
    return end == ASKS and asked in questions and not (item.get("answer") or item.get("item"))
