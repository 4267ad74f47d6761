"""In which order stand those that the first key of a search leaves equal?

Time by time and id by id, as the further keys say, and by the id in the end: each stands at one
place, which a later page finds again though others came in or went.
"""

from collections.abc import Callable
from typing import Any, cast

import msgspec
from msgspec import Struct

from service.domain.problem import Refused
from service.fhir.audit_parameters import SEARCHED
from service.fhir.search_control import Order
from service.fhir.search_dates import Span

_ID = "_id"
_WORD = msgspec.json.Decoder(tuple[int | str, ...])


class Place(Struct, frozen=True):
    """``values``: microseconds or an id, for each key; ``down``: whether the greatest is first."""

    values: tuple[int | str, ...]
    down: tuple[bool, ...]

    def __lt__(self, other: "Place") -> bool:
        """Whether it comes before."""
        for mine, theirs, down in zip(self.values, other.values, self.down, strict=True):
            if mine != theirs:
                return (mine > theirs) is down  # type: ignore[operator]
        return False

    @property
    def word(self) -> str:
        return msgspec.json.encode(self.values).decode()


class Ties(Struct, frozen=True):
    """How those of one ``kind`` are sorted by all keys."""

    kind: str
    orders: tuple[Order, ...]

    @property
    def _keys(self) -> tuple[Order, ...]:
        told = any(one.name == _ID for one in self.orders)
        return self.orders if told else (*self.orders, Order(_ID, newest_first=False))

    def place(self, resource: Any) -> Place:
        keys = self._keys
        values = tuple([self._value(one.name, resource) for one in keys])
        return Place(values, tuple([one.newest_first for one in keys]))

    def place_of(self, word: str) -> Place:
        """The place again. Raises Refused where the word names none."""
        keys = self._keys
        try:
            values = _WORD.decode(word)
        except msgspec.MsgspecError:
            values = ()
        if [isinstance(one, str) for one in values] != [key.name == _ID for key in keys]:
            raise Refused("No place of ours.")
        return Place(values, tuple([one.newest_first for one in keys]))

    def _value(self, name: str, resource: Any) -> int | str:
        if name == _ID:
            return str(resource.id)
        told = cast("Callable[[Any], Span]", SEARCHED[self.kind][name].span)
        return told(resource).start
