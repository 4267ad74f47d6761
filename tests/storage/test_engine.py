"""Does the engine of the file begin, wait and give way as the writer needs it?"""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from service.storage import engine as engines
from service.storage.connection import writing
from service.storage.engine import SqliteEngine


@pytest.fixture
def path(tmp_path: Path) -> Path:
    with closing(sqlite3.connect(tmp_path / "record.db")) as connection:
        connection.execute("CREATE TABLE t (a INTEGER PRIMARY KEY)")
    return tmp_path / "record.db"


def test_who_is_in_the_way_is_told_at_once_and_waited_for_on_demand(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engines, "BUSY_WAIT_MS", 50)
    one, other = SqliteEngine(writing(path)), SqliteEngine(writing(path))
    assert one.begin_at_once()
    assert not other.begin_at_once()
    with pytest.raises(sqlite3.OperationalError) as raised:
        other.begin(None)
    assert other.is_of_the_machine(raised.value)
    one.connection.execute("INSERT INTO t VALUES (1)")
    one.commit({})
    other.begin({"any"})
    other.roll_back()
    other.roll_back()
    for each in (one, other):
        each.close()


def test_a_row_in_the_way_is_not_the_machines_fault(path: Path) -> None:
    engine = SqliteEngine(writing(path))
    engine.connection.execute("INSERT INTO t VALUES (1)")
    with pytest.raises(sqlite3.IntegrityError) as raised:
        engine.connection.execute("INSERT INTO t VALUES (1)")
    assert engine.is_of_the_rows(raised.value) and not engine.is_of_the_machine(raised.value)
    assert not engine.is_of_the_rows(ValueError()) and not engine.is_of_the_machine(ValueError())
    assert engine.heads(None) == ({}, 0)
    engine.close()
