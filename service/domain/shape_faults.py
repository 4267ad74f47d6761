"""What exactly does not fit when a value is held against a type: every fault, each with its place?

Texts say what is allowed and never repeat what was sent.
"""

import re
from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from typing import Annotated, Any

import msgspec
from msgspec import inspect

from service.domain.json_text import pointer
from service.domain.problem import Fault

MOST_DECIMALS = 6

Found = tuple[Any, list[Fault]]
"""The value, with whole numbers written as 3.0 mended to 3, and its faults."""


def walk(raw: Any, info: inspect.Type, path: str) -> Found:
    """``raw`` held against ``info``."""
    return _WALKS[type(info)](raw, info, path)


def decimal_faults(raw: int | Decimal, info: inspect.Metadata, path: str) -> list[Fault]:
    """Faults of a number held against the bounds in a type's ``extra``; both ends are allowed."""
    low, high = (info.extra or {})["ge"], (info.extra or {})["le"]
    number = Decimal(raw)
    if not low <= number <= high:
        return [Fault(path, "shape.range", f"Must be from {low} to {high}.")]
    exponent = int(number.as_tuple().exponent)
    if not -MOST_DECIMALS <= exponent <= MOST_DECIMALS:
        text = f"Must be written with at most {MOST_DECIMALS} decimals."
        return [Fault(path, "shape.decimals", text)]
    return []


def _wrong(raw: Any, path: str, what: str) -> Found:
    return raw, [Fault(path, "shape.type", f"Must be {what}.")]


def _decimal(raw: Any, info: Any, path: str) -> Found:
    if isinstance(raw, bool) or not isinstance(raw, (int, Decimal)):
        return _wrong(raw, path, "a number")
    return raw, decimal_faults(raw, info, path)


def _described(raw: Any, info: Any, path: str) -> Found:
    """A decimal with its bounds, or any other type with a description."""
    if isinstance(info.type, inspect.DecimalType):
        return _decimal(raw, info, path)
    return walk(raw, info.type, path)


def _whole(raw: Any, info: Any, path: str) -> Found:
    if isinstance(raw, bool) or not isinstance(raw, (int, Decimal)):
        return _wrong(raw, path, "a whole number")
    if not info.ge <= raw <= info.le:
        return raw, [Fault(path, "shape.range", f"Must be from {info.ge} to {info.le}.")]
    if raw != int(raw):
        return _wrong(raw, path, "a whole number")
    return int(raw), []


def _text(raw: Any, info: Any, path: str) -> Found:
    if not isinstance(raw, str):
        return _wrong(raw, path, "text")
    if len(raw) < (info.min_length or 0):
        return raw, [Fault(path, "shape.empty", "Must not be empty; leave the field out instead.")]
    if info.max_length is not None and len(raw) > info.max_length:
        text = f"Must have at most {info.max_length} characters."
        return raw, [Fault(path, "shape.length", text)]
    if info.pattern is not None and not re.search(info.pattern, raw):
        return raw, [Fault(path, "shape.pattern", f"Must match {info.pattern}.")]
    return raw, []


def _flag(raw: Any, _info: Any, path: str) -> Found:
    return (raw, []) if isinstance(raw, bool) else _wrong(raw, path, "true or false")


def _word(raw: Any, info: Any, path: str) -> Found:
    words = [member.value for member in info.cls] if hasattr(info, "cls") else info.values
    if isinstance(raw, str) and raw in words:
        return raw, []
    return raw, [Fault(path, "shape.word", f"Must be one of: {', '.join(words)}.")]


def _time(raw: Any, info: Any, path: str) -> Found:
    said = "a time with its offset from UTC, such as 2026-03-04T08:15:00+01:00"
    return _parsed(raw, path, Annotated[datetime, msgspec.Meta(tz=info.tz)], said)


def _day(raw: Any, _info: Any, path: str) -> Found:
    return _parsed(raw, path, date, "a date, such as 1948-03-02")


def _parsed(raw: Any, path: str, kind: Any, said: str) -> Found:
    if not isinstance(raw, str):
        return _wrong(raw, path, said)
    try:
        msgspec.convert(raw, kind, strict=True)
    except msgspec.ValidationError:
        return raw, [Fault(path, "shape.time", f"Must be {said}.")]
    return raw, []


def _entries(raw: Any, info: Any, path: str) -> Found:
    if not isinstance(raw, list):
        return _wrong(raw, path, "an array")
    faults = []
    if len(raw) < (info.min_length or 0):
        text = "Must not be empty; leave the field out instead."
        faults.append(Fault(path, "shape.empty", text))
    if len(raw) > info.max_length:
        text = f"Must have at most {info.max_length} entries."
        return raw, [Fault(path, "shape.length", text)]
    found = [walk(entry, info.item_type, f"{path}/{index}") for index, entry in enumerate(raw)]
    return [value for value, _ in found], faults + [fault for _, inner in found for fault in inner]


def _either(raw: Any, info: Any, path: str) -> Found:
    """A nullable type, or the choice of a word and an array."""
    if raw is None and info.includes_none:
        return raw, []
    arms = [arm for arm in info.types if not isinstance(arm, inspect.NoneType)]
    fitting = [arm for arm in arms if isinstance(arm, inspect.ListType) == isinstance(raw, list)]
    return walk(raw, (fitting or arms)[0], path)


def _fields(raw: Any, info: Any, path: str) -> Found:
    if not isinstance(raw, dict):
        return _wrong(raw, path, "an object")
    known = {field.encode_name: field for field in info.fields}
    faults = [
        Fault(pointer(path, name), "shape.unknown_field", "This field is not known here.")
        for name in raw
        if name not in known
    ]
    mended = {}
    for name, field in known.items():
        if name in raw:
            mended[name], inner = walk(raw[name], field.type, f"{path}/{name}")
            faults.extend(inner)
        elif field.required:
            faults.append(Fault(f"{path}/{name}", "shape.missing", "This field must be sent."))
    return mended, faults


_WALKS: dict[type, Callable[[Any, Any, str], Found]] = {
    inspect.StructType: _fields,
    inspect.ListType: _entries,
    inspect.UnionType: _either,
    inspect.Metadata: _described,
    inspect.IntType: _whole,
    inspect.StrType: _text,
    inspect.BoolType: _flag,
    inspect.EnumType: _word,
    inspect.LiteralType: _word,
    inspect.DateTimeType: _time,
    inspect.DateType: _day,
}
