"""What may an answer to a question of the form be, as the screen's field says it?"""

from decimal import Decimal
from enum import Enum
from typing import Any

import msgspec.inspect as shape
from msgspec import NODEFAULT, Struct

Number = int | Decimal


class Limits(Struct, frozen=True, kw_only=True):
    """``required``: a screen without it is refused. ``low`` and ``high``: both allowed.
    ``longest``: characters; ``most``: how often it may be answered. ``initial``: what stands
    where nothing is answered."""

    required: bool = False
    low: Number | None = None
    high: Number | None = None
    longest: int | None = None
    most: int | None = None
    initial: str | bool | None = None


NO_LIMITS = Limits()


def limits_of(field: shape.Field) -> Limits:
    """The limits of ``field``; what may be null is not required."""
    low, high = _bounds(field.type)
    return Limits(
        required=field.required and not _nullable(field.type),
        low=low,
        high=high,
        longest=_longest(field.type),
        most=_most(field.type),
        initial=_initial(field.default),
    )


def _parts(kind: shape.Type) -> list[shape.Type]:
    """``kind``, or what it is a union of, without metadata."""
    if isinstance(kind, shape.Metadata):
        return _parts(kind.type)
    if isinstance(kind, shape.UnionType):
        return [part for one in kind.types for part in _parts(one)]
    return [kind]


def _nullable(kind: shape.Type) -> bool:
    return any(isinstance(part, shape.NoneType) for part in _parts(kind))


def _bounds(kind: shape.Type) -> tuple[Number | None, Number | None]:
    """Whole numbers have their bounds in the type, decimals beside it."""
    if isinstance(kind, shape.UnionType):
        found = [_bounds(one) for one in kind.types]
        return next((pair for pair in found if pair != (None, None)), (None, None))
    if isinstance(kind, shape.Metadata):
        extra = kind.extra or {}
        return (extra["ge"], extra["le"]) if "ge" in extra else _bounds(kind.type)
    if isinstance(kind, shape.IntType):
        return kind.ge, kind.le
    return None, None


def _longest(kind: shape.Type) -> int | None:
    texts = [part for part in _parts(kind) if isinstance(part, shape.StrType)]
    return texts[0].max_length if texts else None


def _most(kind: shape.Type) -> int | None:
    lists = [part for part in _parts(kind) if isinstance(part, shape.ListType)]
    return lists[0].max_length if lists else None


def _initial(default: Any) -> str | bool | None:
    if default is NODEFAULT or not isinstance(default, str | bool):
        return None
    return default.value if isinstance(default, Enum) else default
