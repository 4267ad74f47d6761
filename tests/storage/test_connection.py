"""Is the file private, served by one process, and safe from half a command?"""

import sqlite3
import stat
from pathlib import Path
from typing import Any

import pytest

from service.storage.connection import (
    StoreInUse,
    hold_lock,
    reading,
    short_read,
    short_write,
    writing,
)


def test_the_file_is_the_owners_alone_and_every_commit_is_synced(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    connection = writing(path)
    connection.execute("CREATE TABLE t (a)")
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert connection.execute("PRAGMA synchronous").fetchone() == (2,)
    connection.close()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_what_is_changed_or_erased_is_overwritten_though_the_library_would_leave_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = sqlite3.connect

    def leaving(*where: Any, **how: Any) -> sqlite3.Connection:
        connection: sqlite3.Connection = opened(*where, **how)
        connection.execute("PRAGMA secure_delete = OFF")
        return connection

    monkeypatch.setattr(sqlite3, "connect", leaving)
    path = tmp_path / "record.db"
    connection = writing(path)
    connection.execute("CREATE TABLE t (id INTEGER PRIMARY KEY, said TEXT)")
    connection.execute("INSERT INTO t VALUES (1, 'GONE-4711'), (2, 'STAYS-0815')")
    connection.execute("DELETE FROM t WHERE id = 1")
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    left = path.read_bytes()
    connection.close()
    assert (b"GONE-4711" in left, b"STAYS-0815" in left) == (False, True)


def test_a_reading_connection_cannot_write(tmp_path: Path) -> None:
    writing(tmp_path / "record.db").close()
    connection = reading(tmp_path / "record.db")
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        connection.execute("CREATE TABLE t (a)")
    connection.close()


def test_a_second_holder_is_told_what_to_do(tmp_path: Path) -> None:
    lock = hold_lock(tmp_path / "record.db")
    with pytest.raises(StoreInUse, match="served by another process"):
        hold_lock(tmp_path / "record.db")
    lock.close()
    hold_lock(tmp_path / "record.db").close()


def test_a_command_that_fails_leaves_nothing(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    writing(path).close()
    with pytest.raises(sqlite3.OperationalError, match="already exists"):
        _twice(path)
    with short_read(path) as connection:
        assert connection.execute("SELECT name FROM sqlite_master").fetchall() == []


@pytest.mark.parametrize("opened", [short_read, short_write])
def test_a_command_does_not_invent_a_database(tmp_path: Path, opened: object) -> None:
    assert callable(opened)
    with pytest.raises(FileNotFoundError, match="run migrate first"), opened(tmp_path / "none.db"):
        pass
    assert list(tmp_path.iterdir()) == []


def _twice(path: Path) -> None:
    with short_write(path) as connection:
        connection.execute("CREATE TABLE t (a)")
        connection.execute("CREATE TABLE t (a)")
