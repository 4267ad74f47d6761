"""How does a form tool fill in a form that it has never seen, from answers by their paths?

It knows FHIR's Questionnaire and a nurse's notes, which here are the native JSON of a screen.
"""

from typing import Any

from tests.fhir.definitions.shown import Json, answers_in, shown


def filled(form: Json, notes: Json) -> Json:
    """The response. What is hidden is not asked; what nobody noted keeps its initial answer."""
    items = _level(form["item"], [notes], set())
    for _ in range(len(form["item"])):
        visible = shown(form, answers_in(items))
        again = _level(form["item"], [notes], visible)
        if again == items:
            break
        items = again
    return {
        "resourceType": "QuestionnaireResponse",
        "questionnaire": f"{form['url']}|{form['version']}",
        "status": "completed",
        "item": items,
    }


_NOT_NOTED: Json = {"": "Nobody wrote a word about it."}


def _level(asked: list[Json], notes: list[Any], visible: set[str]) -> list[Json]:
    return [
        made
        for item in asked
        if not visible or item["linkId"] in visible
        for made in _items(item, notes, visible)
    ]


def _items(item: Json, notes: list[Any], visible: set[str]) -> list[Json]:
    if item["type"] == "display":
        return []
    noted = [one for each in notes for one in _noted(item, each)]
    if item["type"] == "group":
        # one that nobody wrote a word about still opens, with what it says initially
        opened = noted or [_NOT_NOTED] * (not item.get("repeats"))
        made = [_level(item["item"], [one], visible) for one in opened]
        return [{"linkId": item["linkId"], "item": inside} for inside in made if inside]
    answers = [answer for one in noted for answer in _answers(item, one)]
    if not answers:
        answers = _initially(item)
    return [{"linkId": item["linkId"], "answer": answers}] if answers else []


def _initially(item: Json) -> list[Json]:
    chosen = [one for one in item.get("answerOption", []) if one.get("initialSelected")]
    if chosen:
        return [{"valueCoding": one["valueCoding"]} for one in chosen]
    return [dict(one) for one in item.get("initial", [])]


def _noted(item: Json, notes: Any) -> list[Any]:
    """What stands in the notes for an item: nothing, one thing, or several."""
    name = item["linkId"].rpartition(".")[2]
    if name == "listed":
        found = notes.get(item["linkId"].split(".")[-2])
        return found if isinstance(found, list) else []
    if name == "unable":
        field = item["linkId"].split(".")[-2]
        return [True] if field in notes and notes[field] is None else []
    if name == "there":
        return [True] * all(one is None for one in notes.values())
    if name not in notes or notes[name] is None:
        return []
    found = notes[name]
    if item["linkId"] == "context.devices":
        return ["any" if found == "any" else "listed"]
    if isinstance(found, list):
        return found or ["none"] * any(_code(one) == "none" for one in item.get("answerOption", []))
    return [found]


def _code(option: Json) -> str:
    code: str = option["valueCoding"]["code"]
    return code


def _answers(item: Json, value: Any) -> list[Json]:
    kind = item["type"]
    if kind == "choice":
        return [one for one in _plain(item) if _code(one) == value]
    if kind == "quantity":
        (unit,) = [
            one["valueCoding"] for one in item["extension"] if one["url"].endswith("unitOption")
        ]
        told = {"value": value, "unit": unit["display"], "system": unit["system"]}
        return [{"valueQuantity": {**told, "code": unit["code"]}}]
    names = {"dateTime": "DateTime", "url": "Uri"}
    return [{f"value{names.get(kind, kind.capitalize())}": value}]


def _plain(item: Json) -> list[Json]:
    return [{"valueCoding": one["valueCoding"]} for one in item["answerOption"]]
