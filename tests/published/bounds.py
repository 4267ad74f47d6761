"""For whom does a row of a published table speak? A few bounds, all of which hold."""

from decimal import Decimal

from msgspec import Struct

from service.domain.axis import Axis
from service.domain.condition import Condition
from service.domain.move import Move


class Bound(Struct, frozen=True):
    """``axis`` at least at ``grade``, or not."""

    axis: Axis
    grade: str
    reached: bool = True


class Mass(Struct, frozen=True):
    """Mass at or over ``kg``, or under it. One not known falls in the heaviest row."""

    kg: Decimal
    reached: bool = True


Where = tuple[Bound | Mass, ...]


class Row(Struct, frozen=True):
    """A row: for whom, on which moves, its methods, its helpers, and conditions it speaks of."""

    says: str
    moves: tuple[Move, ...]
    where: Where
    methods: tuple[str, ...]
    helpers: int
    present: frozenset[Condition] = frozenset()


def seen(axis: Axis, grade: str) -> Where:
    return (Bound(axis, grade),)


def exactly(axis: Axis, grade: str, above: str) -> Where:
    return (Bound(axis, grade), Bound(axis, above, reached=False))


def heavy_from(kg: str) -> Where:
    return (Mass(Decimal(kg)),)


def both(*wheres: Where) -> Where:
    return tuple(bound for where in wheres for bound in where)


def no(where: Where) -> Where:
    """The opposite of one bound."""
    (bound,) = where
    if isinstance(bound, Mass):
        return (Mass(bound.kg, reached=not bound.reached),)
    return (Bound(bound.axis, bound.grade, reached=not bound.reached),)
