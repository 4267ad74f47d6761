"""Does a raw body have the shape of one of our Structs, field by field?

A good body takes the quick way through msgspec. Only when that stops is the body walked
again, so that every fault is listed and not just the first.
"""

from collections.abc import Hashable
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar, cast

import msgspec
from msgspec import inspect

from service.domain.json_text import parse, refuse_depth
from service.domain.problem import Refused
from service.domain.shape_faults import decimal_faults, walk

T = TypeVar("T")

MOST_FAULTS = 200

Decimals = dict[str, Any]
"""The part of a type in which decimals are: a field's name to the fields inside it, to the
bounds of a decimal, or to a one-element list of either for an array."""


def read(body: bytes, kind: type[T]) -> T:
    """``body`` as a ``kind``. Raises Unreadable where it is no JSON, Refused with all faults."""
    return fit(parse(body), kind)


def fit(raw: Any, kind: type[T]) -> T:
    """``raw``, JSON as ``json_text.parse`` gives it, as a ``kind``. Raises Refused."""
    try:
        value = msgspec.convert(raw, kind, strict=True)
    except msgspec.ValidationError:
        return _read_slowly(raw, kind)
    if not _decimals_fit(raw, _decimals(cast("Hashable", kind))):
        return _read_slowly(raw, kind)
    return value


def _read_slowly(raw: Any, kind: type[T]) -> T:
    refuse_depth(raw)
    mended, faults = walk(raw, inspect.type_info(kind), "")
    if not faults:
        return msgspec.convert(mended, kind, strict=True)
    detail = "The body does not have the shape that is asked for."
    if len(faults) > MOST_FAULTS:
        detail += f" Only the first {MOST_FAULTS} of {len(faults)} faults are listed."
    raise Refused(detail, tuple(faults[:MOST_FAULTS]))


@cache
def _decimals(kind: Hashable) -> Decimals:
    found = _decimals_in(inspect.type_info(kind))
    return found if isinstance(found, dict) else {}


def _decimals_in(info: inspect.Type) -> Any:
    if isinstance(info, inspect.Metadata) and isinstance(info.type, inspect.DecimalType):
        return info
    if isinstance(info, inspect.UnionType):
        return next(filter(None, map(_decimals_in, info.types)), None)
    if isinstance(info, inspect.ListType):
        inside = _decimals_in(info.item_type)
        return [inside] if inside else None
    if isinstance(info, inspect.StructType):
        fields = {field.encode_name: _decimals_in(field.type) for field in info.fields}
        return {name: inside for name, inside in fields.items() if inside} or None
    return None


def _decimals_fit(raw: Any, decimals: Any) -> bool:
    """Whether each decimal in ``raw``, which msgspec has passed, is a number within bounds."""
    if raw is None or (isinstance(raw, str) and not isinstance(decimals, inspect.Metadata)):
        return True
    if isinstance(decimals, inspect.Metadata):
        return isinstance(raw, (int, Decimal)) and not decimal_faults(raw, decimals, "")
    if isinstance(decimals, list):
        return all(_decimals_fit(entry, decimals[0]) for entry in raw)
    return all(_decimals_fit(raw[name], inside) for name, inside in decimals.items() if name in raw)
