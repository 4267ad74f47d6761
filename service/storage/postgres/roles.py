"""May the two roles do what they have to, and no more?"""

from collections.abc import Iterator
from typing import Any

import psycopg
from psycopg.conninfo import conninfo_to_dict
from psycopg.sql import SQL, Identifier
from sqlmodel import SQLModel

import service.storage.tables  # noqa: F401 - fills the metadata
from service.storage.place import Server
from service.storage.postgres.connection import connected
from service.storage.postgres.told import told

_TABLES = sorted(SQLModel.metadata.tables)
_ROLE = """
SELECT rolsuper OR rolbypassrls OR EXISTS (
  SELECT FROM pg_class
  WHERE relowner = pg_roles.oid AND relnamespace = current_schema()::regnamespace
) FROM pg_roles WHERE rolname = current_user"""
_MAKES = "SELECT has_schema_privilege(current_schema(), 'CREATE')"
_MISSING = """
SELECT relname FROM pg_class
WHERE relnamespace = current_schema()::regnamespace AND relname = ANY(%s)
  AND NOT has_table_privilege(%s, oid, 'SELECT')"""


def reader_of(server: Server) -> str | None:
    """The name of the role that only reads, where there is one."""
    if server.read is None:
        return None
    named = conninfo_to_dict(server.read).get("user")
    return None if named is None else str(named)


def admit(server: Server) -> None:
    """Let the reader read what it may not yet: it was named after the tables were made."""
    reader = reader_of(server)
    if reader is None:
        return
    with connected(server.write) as raw:
        missing = raw.execute(_MISSING, (_TABLES, reader)).fetchall()
        for (name,) in missing:
            grant(raw, name, reader)


def grant(raw: Any, table: str, reader: str) -> None:
    raw.execute(SQL("GRANT SELECT ON {} TO {}").format(Identifier(table), Identifier(reader)))


def faults_of(server: Server) -> Iterator[tuple[str, str]]:
    """Setting and what is wrong with it, by asking the server itself."""
    for name, address, judge in (
        ("postgres", server.write, _of_the_owner),
        ("postgres_read", server.read, _of_the_reader),
    ):
        if address is None:
            continue
        try:
            with connected(address) as raw:
                yield from ((name, fault) for fault in judge(raw))
        except psycopg.Error as error:
            yield name, told(error) or type(error).__name__


def _of_the_owner(raw: Any) -> Iterator[str]:
    if raw.execute("SELECT pg_is_in_recovery()").fetchone() == (True,):
        yield "This is a standby, which takes no writes: name the one that leads."
    elif raw.execute(_MAKES).fetchone() != (True,):
        yield "The role may not make tables in its schema."


def _of_the_reader(raw: Any) -> Iterator[str]:
    if raw.execute(_ROLE).fetchone() != (False,):
        yield (
            "The server does not hold this role to one organisation: it owns tables, is a"
            " superuser, or passes by row-level security. Give it a role of its own."
        )
    (me,) = raw.execute("SELECT current_user").fetchone()
    if raw.execute(_MISSING, (_TABLES, me)).fetchone() is not None:
        yield "The role may not read all tables: run `stanchion migrate` with both settings."
