"""Which items of a form are shown for given answers, and does a response agree with its form?

Written from the standard alone, over plain JSON: it knows nothing of how the form was made.
"""

from collections.abc import Iterator
from typing import Any

Json = dict[str, Any]
Answers = dict[str, list[Any]]
_VALUE_OF = {
    "choice": ("valueCoding",),
    "boolean": ("valueBoolean",),
    "integer": ("valueInteger",),
    "quantity": ("valueQuantity",),
    "date": ("valueDate",),
    "dateTime": ("valueDateTime",),
    "string": ("valueString",),
    "url": ("valueUri",),
}


def shown(form: Json, answers: Answers) -> set[str]:
    """The link ids that are shown. An item that is hidden counts as not answered."""
    known: Answers = {}
    return set(_shown(form.get("item", []), answers, known))


def _shown(items: list[Json], answers: Answers, known: Answers) -> Iterator[str]:
    for item in items:
        if not _enabled(item, known):
            continue
        link = item["linkId"]
        yield link
        if link in answers:
            known[link] = answers[link]
        yield from _shown(item.get("item", []), answers, known)


def _enabled(item: Json, known: Answers) -> bool:
    conditions = item.get("enableWhen", [])
    if not conditions:
        return True
    held = [_holds(one, known) for one in conditions]
    return all(held) if item.get("enableBehavior") == "all" else any(held)


def _holds(condition: Json, known: Answers) -> bool:
    given = known.get(condition["question"], [])
    ((_, wanted),) = [(name, value) for name, value in condition.items() if name[:6] == "answer"]
    if condition["operator"] == "exists":
        return bool(given) is wanted
    same = any(_plain(one) == _plain(wanted) for one in given)
    return same if condition["operator"] == "=" else not same


def _plain(value: Any) -> Any:
    return (value["system"], value["code"]) if isinstance(value, dict) else value


def answers_in(items: list[Json]) -> Answers:
    """By link id, every answer of a response."""
    found: Answers = {}
    for item in items:
        for answer in item.get("answer", []):
            (value,) = [inner for name, inner in answer.items() if name.startswith("value")]
            found.setdefault(item["linkId"], []).append(value)
        for link, values in answers_in(item.get("item", [])).items():
            found.setdefault(link, []).extend(values)
    return found


def disagreements(form: Json, response: Json) -> list[str]:
    """Everything in ``response`` that ``form`` does not ask for so, or asks for and misses."""
    visible = shown(form, answers_in(response["item"]))
    return list(_level(form["item"], response["item"], visible))


def _level(asked: list[Json], given: list[Json], visible: set[str]) -> Iterator[str]:
    known = {one["linkId"]: one for one in asked}
    order = [one["linkId"] for one in asked]
    places = [order.index(one["linkId"]) for one in given if one["linkId"] in known]
    if places != sorted(places):
        yield f"{[one['linkId'] for one in given]}: another order"
    for one in given:
        if one["linkId"] not in known:
            yield f"{one['linkId']}: not asked here"
            continue
        yield from _item(known[one["linkId"]], one, visible)
    for one in asked:
        found = [each for each in given if each["linkId"] == one["linkId"]]
        if not found:
            yield from _missing(one, visible)
        if len(found) > 1 and not (one.get("repeats") and one["type"] == "group"):
            yield f"{one['linkId']}: more than once"


def _missing(asked: Json, visible: set[str]) -> Iterator[str]:
    """What is required in something that is not there at all."""
    if asked["linkId"] not in visible:
        return
    if asked.get("required"):
        yield f"{asked['linkId']}: required and not there"
    if not asked.get("repeats"):
        for one in asked.get("item", []):
            yield from _missing(one, visible)


def _item(asked: Json, given: Json, visible: set[str]) -> Iterator[str]:
    link, kind = asked["linkId"], asked["type"]
    if link not in visible:
        yield f"{link}: answered though it is hidden"
    answers = given.get("answer", [])
    if kind in ("group", "display") and answers:
        yield f"{link}: a {kind} has no answer"
    if kind not in ("group", "display") and not answers:
        yield f"{link}: a question without an answer"
    if len(answers) > 1 and not asked.get("repeats"):
        yield f"{link}: answered more than once"
    for answer in answers:
        yield from _answer(asked, answer)
    yield from _level(asked.get("item", []), given.get("item", []), visible)


def _answer(asked: Json, answer: Json) -> Iterator[str]:
    link = asked["linkId"]
    ((name, value),) = answer.items()
    if name not in _VALUE_OF[asked["type"]]:
        yield f"{link}: {name} for a {asked['type']}"
        return
    options = [one["valueCoding"] for one in asked.get("answerOption", [])]
    if asked["type"] == "choice" and value not in options:
        yield f"{link}: {value['code']} is no option"
    marks = {one["url"].rpartition("/")[2]: one for one in asked.get("extension", [])}
    number = value["value"] if isinstance(value, dict) and "value" in value else value
    for end, sign in (("minValue", 1), ("maxValue", -1)):
        limit = marks.get(end, {})
        edge = limit.get("valueInteger", limit.get("valueDecimal"))
        if edge is not None and (number - edge) * sign < 0:
            yield f"{link}: {number} is past {end} {edge}"
    if "questionnaire-unitOption" in marks:
        unit = marks["questionnaire-unitOption"]["valueCoding"]
        if (value["system"], value["code"]) != (unit["system"], unit["code"]):
            yield f"{link}: another unit"
