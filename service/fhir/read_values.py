"""What does one answer say, as the screen's own JSON has it?"""

from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any, Final

from service.domain.problem import Fault
from service.fhir.codes import UCUM
from service.fhir.form import FormItem
from service.fhir.own_screen_codes import NONE

NOTHING: Final = object()
"""No value could be read; the faults say why."""

VALUE_OF = {
    "choice": "valueCoding",
    "choices": "valueCoding",
    "limited": "valueCoding",
    "boolean": "valueBoolean",
    "unable": "valueBoolean",
    "there": "valueBoolean",
    "integer": "valueInteger",
    "quantity": "valueQuantity",
    "date": "valueDate",
    "moment": "valueDateTime",
    "string": "valueString",
    "uri": "valueUri",
}
"""Kind of question → the element that its answer is in."""

CODED = ("choice", "choices", "limited")
Faults = list[Fault]

_CALLED = {
    "kg": "kg kgs kilo kilos kilogram kilograms",
    "g": "g gram grams",
    "[lb_av]": "lb lbs pound pounds # [lb_av] lb_av",
    "[oz_av]": "oz ounce ounces [oz_av]",
    "[stone_av]": "st stone stones [stone_av]",
    "mm": "mm millimetre millimetres millimeter millimeters",
    "cm": "cm centimetre centimetres centimeter centimeters",
    "m": "m metre metres meter meters",
    "[in_i]": 'in inch inches " ″ [in_i] in_i',
    "[ft_i]": "ft foot feet ' ′ [ft_i] ft_i",
    "ms": "ms millisecond milliseconds",
    "s": "s sec secs second seconds",
    "min": "min mins minute minutes",
    "h": "h hr hrs hour hours",
    "d": "d day days",
    "wk": "wk week weeks",
    "mo": "mo month months",
    "a": "a y yr yrs year years",
    "mm[Hg]": "mm[hg] mmhg",
    "kPa": "kpa",
    "cm[H2O]": "cm[h2o] cmh2o",
    "Cel": "cel c °c degc celsius",
    "[degF]": "f °f degf [degf] fahrenheit",
    "%": "% percent",
    "/min": "/min bpm",
    "/s": "/s hz",
}
_UNIT_CALLED = {word: unit for unit, called in _CALLED.items() for word in called.split()}
"""What people call a unit, in small letters → its UCUM code. Other names say nothing to us."""


def read_answer(item: FormItem, answer: Any, place: str, faults: Faults) -> Any:
    """The native value of one answer at ``place``, or NOTHING."""
    if not isinstance(answer, dict):
        return NOTHING
    wanted = VALUE_OF[item.kind]
    if wanted in answer and len(answer) == 1:
        return _READ[item.kind](item, answer[wanted], f"{place}/{wanted}", faults)
    named = [name for name in answer if name.startswith("value")]
    if "item" in answer:
        text = "No question of this form stands inside an answer."
        faults.append(Fault(f"{place}/item", "form.place", text))
    if not named:
        faults.append(Fault(place, "form.no_value", f"Answer with {wanted}, or leave it out."))
    elif len(named) > 1:
        faults.append(Fault(place, "shape.choice", "value[x] may have one type only."))
    elif named[0] != wanted:
        text = f"This question is answered with {wanted}."
        faults.append(Fault(f"{place}/{named[0]}", "form.answer_type", text))
    else:
        return _READ[item.kind](item, answer[wanted], f"{place}/{wanted}", faults)
    return NOTHING


def _code(item: FormItem, coding: Any, place: str, faults: Faults) -> Any:
    if not isinstance(coding, dict):
        return NOTHING
    known = next(iter(item.ready.values()))[0].value_coding
    system = "" if known is None else known.system
    if coding.get("system") != system:
        text = f"This question is answered with codes of {system}."
        faults.append(Fault(f"{place}/system", "form.system", text))
        return NOTHING
    code = coding.get("code")
    if not isinstance(code, str) or code not in item.ready:
        text = f"Must be one of: {', '.join(map(str, item.ready))}."
        faults.append(Fault(f"{place}/code", "form.code", text))
        return NOTHING
    return code


def version_faults(answers: list[Any], ours: str, place: str) -> Iterator[Fault]:
    """Codes are read in the versions of their systems that the form is read in. ``place``: of
    the item."""
    for index, answer in enumerate(answers):
        coding = answer.get("valueCoding") if isinstance(answer, dict) else None
        version = coding.get("version") if isinstance(coding, dict) else None
        if isinstance(version, str) and version.partition(".")[0] != ours.partition(".")[0]:
            text = f"That version of the codes is not read here. The one that is served: {ours}."
            at = f"{place}/answer/{index}/valueCoding/version"
            yield Fault(at, "form.system", text)


def _quantity(item: FormItem, quantity: Any, place: str, faults: Faults) -> Any:
    if not isinstance(quantity, dict):
        return NOTHING
    before = len(faults)
    if "comparator" in quantity:
        text = "Send the value that was measured, without a comparator."
        faults.append(Fault(f"{place}/comparator", "form.comparator", text))
    if quantity.get("system") != UCUM:
        text = f"Units are UCUM here: {UCUM}."
        faults.append(Fault(f"{place}/system", "form.system", text))
    if quantity.get("code") != item.unit:
        text = f"The unit of this answer is {item.unit}; values are not converted."
        faults.append(Fault(f"{place}/code", "form.unit", text))
    called = quantity.get("unit", item.unit)
    if called != item.unit:
        called = _UNIT_CALLED.get(str(called).strip(" .").lower(), item.unit)
    if called != item.unit:
        text = f"The unit is called {called} and coded otherwise: the number may be of either."
        faults.append(Fault(f"{place}/unit", "form.unit", text))
    if "value" not in quantity:
        faults.append(Fault(f"{place}/value", "shape.missing", "This element must be sent."))
    value = quantity.get("value")
    return value if len(faults) == before and type(value) in (int, Decimal) else NOTHING


def _unable(_item: FormItem, raw: Any, _place: str, _faults: Faults) -> Any:
    """True is the native null: it was tried and could not be done."""
    return None if raw is True else NOTHING


def _boolean(_item: FormItem, raw: Any, _place: str, _faults: Faults) -> Any:
    return raw if isinstance(raw, bool) else NOTHING


def _integer(_item: FormItem, raw: Any, _place: str, _faults: Faults) -> Any:
    return raw if type(raw) is int else NOTHING


def _text(_item: FormItem, raw: Any, _place: str, _faults: Faults) -> Any:
    return raw if isinstance(raw, str) else NOTHING


_READ: dict[str, Callable[[FormItem, Any, str, Faults], Any]] = {
    "choice": _code,
    "choices": _code,
    "limited": _code,
    "boolean": _boolean,
    "unable": _unable,
    "there": _boolean,
    "integer": _integer,
    "quantity": _quantity,
    "date": _text,
    "moment": _text,
    "string": _text,
    "uri": _text,
}


def none_of(codes: list[str], place: str, faults: Faults) -> list[str]:
    """The chosen codes; the code for none stands alone and means an empty list."""
    if NONE not in codes:
        return codes
    if len(codes) > 1:
        faults.append(Fault(place, "form.none_beside", "None and something else were chosen."))
    return [code for code in codes if code != NONE]
