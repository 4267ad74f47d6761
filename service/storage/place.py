"""Where is the record: in a file, or on a PostgreSQL server?"""

import sqlite3
import sys
from importlib import import_module
from pathlib import Path
from typing import TypeAlias

from msgspec import Struct


class Server(Struct, frozen=True):
    """``write``: the libpq address of the role that writes. ``read``: of the one that only reads,
    held to one organisation at a time by the server itself; without it, the first one reads too.
    """

    write: str
    read: str | None = None

    def __str__(self) -> str:
        """Fit to be shown: no name and no password."""
        named = import_module("psycopg.conninfo").conninfo_to_dict(self.write)
        host = ":".join(str(named[part]) for part in ("host", "port") if part in named)
        return f"postgresql://{'/'.join(part for part in (host, named.get('dbname', '')) if part)}"


Place: TypeAlias = Path | Server

_KIND_OF_ERROR = 0xFF
_UNUSABLE = (
    sqlite3.SQLITE_NOTADB,
    sqlite3.SQLITE_CORRUPT,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
)


def exists(place: Place) -> bool:
    """Whether there is a file; of a server only a connection tells."""
    return isinstance(place, Server) or place.exists()


def refusal(error: Exception) -> str | None:
    """What to say where a file is no database or cannot be used, or a server or its driver is not
    there or does not let us in; None where ``error`` is another one."""
    if getattr(error, "sqlite_errorcode", 0) & _KIND_OF_ERROR in _UNUSABLE:
        return f"The database cannot be used: {error}."
    if isinstance(error, ModuleNotFoundError) and error.name == "psycopg":
        return (
            "For PostgreSQL install the extra `postgres`: requirements-postgres.txt has its pins."
        )
    if "psycopg" not in sys.modules:
        return None
    said: str | None = import_module("service.storage.postgres.told").told(error)
    return said
