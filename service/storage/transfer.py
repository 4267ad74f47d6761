"""How does a whole record go from one place to another, and is it the same there, row by row?

Between a file and a server in both directions. Columns are text, whole numbers and bytes only,
so a row is the same values on either; each table's rows are digested in the order of their key
on both sides before anything is kept.
"""

import hashlib
from collections.abc import Callable, Iterator
from itertools import islice
from typing import Any

from msgspec import Struct
from sqlmodel import SQLModel

import service.storage.tables  # noqa: F401 - fills the metadata
from service.storage import statements_sqlite as sql
from service.storage.connection import short_read, short_write
from service.storage.place import Place

Progress = Callable[[str, int], None]
"""Told the table, and how many of its rows have been copied."""

_TABLES = SQLModel.metadata.tables
_MANY = 500


class Filled(Exception):
    """There is a record at the target already."""


class Different(Exception):
    """What came in is not what was sent; nothing was kept at the target."""


class Copied(Struct, frozen=True):
    """``rows``: how many of each table; ``digests``: SHA-256 over them, in the order of the key."""

    rows: dict[str, int]
    digests: dict[str, str]


def transfer(source: Place, target: Place, say: Progress, *, replace: bool = False) -> Copied:
    """All rows of one state of ``source``, in one transaction. Both are up to date.

    ``replace``: what is at the target is lost. Raises Filled, Different.
    """
    with short_read(source) as there, short_write(target) as here:
        if here.execute(sql.ORGANISATIONS).fetchone() is not None:
            if not replace:
                raise Filled
            for name in _TABLES:
                here.execute(f'DELETE FROM "{name}"')  # noqa: S608 - a name of our own
        for name in _TABLES:
            _copy(there, here, name, say)
        sent = _digested(there)
        if sent != _digested(here):
            raise Different
    return sent


def _copy(there: Any, here: Any, name: str, say: Progress) -> None:
    rows, count = _rows(there, name), 0
    while some := list(islice(rows, _MANY)):
        here.executemany(getattr(sql, f"INSERT_{name.upper()}"), some)
        count += len(some)
        say(name, count)


def _digested(connection: Any) -> Copied:
    rows: dict[str, int] = {}
    digests: dict[str, str] = {}
    for name in _TABLES:
        digest, count = hashlib.sha256(), 0
        for row in _rows(connection, name):
            digest.update(repr(row).encode())
            count += 1
        rows[name], digests[name] = count, digest.hexdigest()
    return Copied(rows, digests)


def _rows(connection: Any, name: str) -> Iterator[tuple[Any, ...]]:
    """In the order of their key, which is the same on both; never all of them at once."""
    table = _TABLES[name]
    columns = ", ".join(f'"{column.name}"' for column in table.columns)
    keys = ", ".join(f'"{column.name}"' for column in table.primary_key)
    statement = f'SELECT {columns} FROM "{name}" ORDER BY {keys}'  # noqa: S608 - names of our own
    stream = getattr(connection, "stream", connection.execute)
    for row in stream(statement):
        yield tuple(row)
