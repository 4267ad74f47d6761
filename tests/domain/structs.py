"""Which Structs can be reached from a type?"""

import typing
from collections.abc import Iterator

from msgspec import Struct


def structs_of(kind: object, found: set[type[Struct]] | None = None) -> Iterator[type[Struct]]:
    """``kind`` and every Struct its fields hold, each once."""
    found = set() if found is None else found
    if isinstance(kind, type) and issubclass(kind, Struct):
        if kind in found:
            return
        found.add(kind)
        yield kind
        for held in typing.get_type_hints(kind, include_extras=True).values():
            yield from structs_of(held, found)
    for argument in typing.get_args(kind):
        yield from structs_of(argument, found)
