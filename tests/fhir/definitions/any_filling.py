"""How would anybody fill in a form, when all they know is which items are shown by now?

Written from the standard alone: it knows nothing of what the answers mean.
"""

from decimal import ROUND_CEILING, Decimal
from random import Random
from typing import Any

from tests.fhir.definitions.shown import Answers, Json, shown

_OFTEN = 0.8
_FIXED: dict[str, Json] = {
    "date": {"valueDate": "1950-01-01"},
    "dateTime": {"valueDateTime": "2026-03-04T08:15:00+01:00"},
    "url": {"valueUri": "urn:oid:2.999.7"},
}


def filled_at_random(form: Json, dice: Random) -> Json:
    """A response in which nothing hidden is answered, and everything required that is shown. Of
    the rest a group is answered whole or not at all, because half a group is often refused."""
    answers: Answers = {}
    return {
        "resourceType": "QuestionnaireResponse",
        "questionnaire": f"{form['url']}|{form['version']}",
        "status": "completed",
        "item": _level(form, form["item"], dice, answers),
    }


def _level(form: Json, asked: list[Json], dice: Random, answers: Answers) -> list[Json]:
    made: list[Json] = []
    whole = dice.random() < _OFTEN
    for item in asked:
        if item["type"] == "display" or item["linkId"] not in shown(form, answers):
            continue
        if item["type"] == "group":
            inner = _level(form, item["item"], dice, answers)
            made += [{"linkId": item["linkId"], "item": inner}] if inner else []
            continue
        given = _answers(item, dice) if item.get("required") or whole else []
        if given:
            answers[item["linkId"]] = [next(iter(one.values())) for one in given]
            made.append({"linkId": item["linkId"], "answer": given})
    return made


def _answers(item: Json, dice: Random) -> list[Json]:
    kind = item["type"]
    if kind == "choice":
        together = [one for one in item["answerOption"] if not _stands_alone(one)]
        options = together if item.get("repeats") else item["answerOption"]
        chosen = dice.sample(options, min(len(options), 3) if item.get("repeats") else 1)
        return [{"valueCoding": one["valueCoding"]} for one in chosen]
    if kind == "boolean":
        return [{"valueBoolean": dice.random() < 1 / 2}]
    if kind == "string":
        return [{"valueString": f"harbour {dice.randint(1, 9999)}"}]
    if kind in _FIXED:
        return [_FIXED[kind]]
    marks = {one["url"].rpartition("/")[2]: one for one in item.get("extension", [])}
    number = dice.randint(_edge(marks["minValue"]), _edge(marks["maxValue"]))
    if kind == "integer":
        return [{"valueInteger": number}]
    unit = marks["questionnaire-unitOption"]["valueCoding"]
    return [{"valueQuantity": {"value": number, "system": unit["system"], "code": unit["code"]}}]


def _stands_alone(option: Json) -> bool:
    return any(one["url"].endswith("optionExclusive") for one in option.get("extension", []))


def _edge(mark: Json) -> int:
    """The least whole number that is not below a limit."""
    edge: Any = mark.get("valueInteger", mark.get("valueDecimal"))
    return int(Decimal(edge).to_integral_value(ROUND_CEILING))
