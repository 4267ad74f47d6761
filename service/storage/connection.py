"""How is the record opened by whoever needs it, and a file kept to one serving process?"""

import fcntl
import io
import os
import sqlite3
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from importlib import import_module
from pathlib import Path
from typing import IO, Any

from service.storage.place import Place, Server

_CHECKPOINT_PAGES = 8000
_WAIT_OF_COMMANDS_MS = 10_000
_CACHE_KIB = 16_384


class StoreInUse(Exception):
    """Another process serves this database."""


def writing(path: Path, wait_ms: int = 0) -> sqlite3.Connection:
    """A connection that writes; every commit is on disk before it returns."""
    _create_private(path)
    connection = sqlite3.connect(
        path, isolation_level=None, check_same_thread=False, timeout=wait_ms / 1000
    )
    connection.execute("PRAGMA journal_mode = WAL").fetchone()
    connection.execute("PRAGMA synchronous = FULL")
    # On macOS a plain fsync leaves the data in the drive's cache.
    connection.execute("PRAGMA fullfsync = ON")
    # Libraries differ in whether what is changed or erased is overwritten, or lies on in the file.
    connection.execute("PRAGMA secure_delete = ON")
    connection.execute(f"PRAGMA wal_autocheckpoint = {_CHECKPOINT_PAGES}")
    connection.execute(f"PRAGMA cache_size = -{_CACHE_KIB}")
    return connection


def reading(path: Path, wait_ms: int = 0) -> sqlite3.Connection:
    """A connection that can only read."""
    connection = sqlite3.connect(
        f"{path.resolve().as_uri()}?mode=ro",
        uri=True,
        isolation_level=None,
        check_same_thread=False,
        timeout=wait_ms / 1000,
    )
    connection.execute(f"PRAGMA cache_size = -{_CACHE_KIB}")
    return connection


def short_write(place: Place) -> AbstractContextManager[Any]:
    """One transaction of a command that may run while the service serves."""
    return _on_a_server("short_write", place) if isinstance(place, Server) else _short_write(place)


def short_read(place: Place) -> AbstractContextManager[Any]:
    """One consistent reading by a command."""
    return _on_a_server("short_read", place) if isinstance(place, Server) else _short_read(place)


def _on_a_server(name: str, server: Server) -> AbstractContextManager[Any]:
    """The driver is loaded only where it is used."""
    opened: AbstractContextManager[Any] = getattr(
        import_module("service.storage.postgres.opened"), name
    )(server)
    return opened


@contextmanager
def _short_write(path: Path) -> Iterator[sqlite3.Connection]:
    if not path.exists():
        raise FileNotFoundError(f"No database at {path}: run migrate first.")
    connection = writing(path, _WAIT_OF_COMMANDS_MS)
    try:
        connection.execute("BEGIN IMMEDIATE")
        yield connection
        connection.execute("COMMIT")
    finally:
        connection.close()  # rolls back what was not committed


@contextmanager
def _short_read(path: Path) -> Iterator[sqlite3.Connection]:
    if not path.exists():
        raise FileNotFoundError(f"No database at {path}: run migrate first.")
    connection = reading(path, _WAIT_OF_COMMANDS_MS)
    try:
        connection.execute("BEGIN")
        yield connection
    finally:
        connection.close()


def hold_lock(path: Place) -> IO[str]:
    """Take the lock that one serving process holds for life; a server takes several processes.
    Raises StoreInUse."""
    if isinstance(path, Server):
        return io.StringIO()
    held = path.with_name(path.name + ".lock").open("a+", encoding="ascii")
    try:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        held.close()
        raise StoreInUse(
            f"The database {path} is served by another process. "
            "Stop that one, serve with one worker only, or name another file."
        ) from error
    held.truncate(0)
    held.write(f"{os.getpid()}\n")
    held.flush()
    return held


def _create_private(path: Path) -> None:
    """Patient data: the file is readable by its owner alone from the first moment."""
    if not path.exists():
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
