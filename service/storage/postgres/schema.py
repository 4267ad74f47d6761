"""How does a PostgreSQL database come to the tables of today, and who may read which rows?

The first release on PostgreSQL starts from the tables as they are; later steps are the same
migrations as on SQLite. The role that reads sees the rows of one organisation at a time: the one
that its transaction named. The server enforces it, whatever a statement forgets.
"""

from typing import Any

import psycopg
from alembic import command
from psycopg.sql import SQL, Identifier
from sqlalchemy import create_engine, inspect
from sqlalchemy.pool import NullPool
from sqlmodel import SQLModel

import service.storage.tables  # noqa: F401 - fills the metadata
from service.storage.migrate import HEAD
from service.storage.place import Server
from service.storage.postgres.connection import Connection, connected
from service.storage.postgres.engine import lock
from service.storage.postgres.roles import grant, reader_of
from service.storage.upgrade import config_of

_VERSION = "SELECT version_num FROM alembic_version"
_KNOWN = "SELECT to_regclass('alembic_version')"
# A key's prefix is looked up before it is known whose it is; the outbox names opaque ids alone.
_OF_ALL = ("credential", "outbox")


def version_of(server: Server) -> str | None:
    with connected(server.write) as raw:
        if raw.execute(_KNOWN).fetchone() == (None,):
            return None
        row = raw.execute(_VERSION).fetchone()
    return None if row is None else str(row[0])


def run(server: Server, to: str, stands_at: str | None) -> None:
    """Up or down to migration ``to``; ``base`` is the empty database."""
    engine = create_engine(
        "postgresql+psycopg://", creator=lambda: psycopg.connect(server.write), poolclass=NullPool
    )
    with engine.begin() as connection:
        raw: Any = connection.connection.driver_connection
        # another process may be at the same thing: it is done once
        lock(Connection(raw), None)
        if stands_at is None and version_of_this(connection) is not None:
            return
        config = config_of(connection)
        if to == "base":
            SQLModel.metadata.drop_all(connection)
            command.stamp(config, "base")
            return
        if stands_at is None:
            SQLModel.metadata.create_all(connection)
            command.stamp(config, HEAD)
        else:
            down = stands_at > to
            (command.downgrade if down else command.upgrade)(config, to)
        _guard(raw, server)


def version_of_this(connection: Any) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    row = connection.exec_driver_sql(_VERSION).fetchone()
    return None if row is None else str(row[0])


def _guard(raw: Any, server: Server) -> None:
    """Rows are seen by the organisation that the transaction named."""
    reader = reader_of(server)
    for name in sorted(SQLModel.metadata.tables):
        named = Identifier(name)
        rows = SQL("true") if name in _OF_ALL else SQL("org = current_setting('app.org', true)")
        raw.execute(SQL("ALTER TABLE {} ENABLE ROW LEVEL SECURITY").format(named))
        raw.execute(SQL("DROP POLICY IF EXISTS of_one ON {}").format(named))
        raw.execute(SQL("CREATE POLICY of_one ON {} FOR SELECT USING ({})").format(named, rows))
        if reader is not None:
            grant(raw, name, reader)
