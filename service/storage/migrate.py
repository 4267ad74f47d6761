"""How does a database come to the tables of today?"""

import importlib
import sqlite3
from contextlib import closing

from service.storage.place import Place, Server

HEAD = "0005"
"""The newest migration. Kept here so that a start on a current database needs no alembic."""

SCHEMAS = tuple(f"{number:04}" for number in range(1, int(HEAD) + 1))
"""All that a record may be taken to and stay one."""

FIRST_ON_A_SERVER = "0005"
"""No release before it knows a server: there is nothing to take one back for, and the steps before
it make tables anew as a file has them."""

_BUSY_MS = 10_000


class NewerDatabase(Exception):
    """The file was written by a later release."""


def version_of(path: Place) -> str | None:
    """The migration the record stands at; None for an empty or absent one."""
    if isinstance(path, Server):
        schema = importlib.import_module("service.storage.postgres.schema")
        stands_at: str | None = schema.version_of(path)
        return stands_at
    if not path.exists():
        return None
    with closing(sqlite3.connect(path, timeout=_BUSY_MS / 1000)) as connection:
        known = "SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'alembic_version'"
        if connection.execute(known).fetchone() is None:
            return None
        row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
        return None if row is None else str(row[0])


def migrate(path: Place, to: str = HEAD) -> None:
    """Bring the record to migration ``to`` (``base``: empty). Raises NewerDatabase."""
    stands_at = version_of(path)
    if stands_at == to:
        if isinstance(path, Server):
            importlib.import_module("service.storage.postgres.roles").admit(path)
        return
    if stands_at is not None and stands_at > HEAD:
        raise NewerDatabase(
            f"The database {path} was written by a later release (schema {stands_at}, "
            f"this one knows {HEAD}). Install that release or name another file."
        )
    # Loading the migration tool costs a good part of a second: only where there is work for it.
    steps = "postgres.schema" if isinstance(path, Server) else "upgrade"
    importlib.import_module(f"service.storage.{steps}").run(path, to, stands_at)
