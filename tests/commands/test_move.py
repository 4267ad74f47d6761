"""Is a file moved to a server at the keyboard, told row by row, and never over a record?"""

import json
from pathlib import Path

import pytest

from service.commands import CANNOT, CHECK_FAILED, WRONG_USE
from service.storage import transfer
from service.storage.connection import hold_lock
from service.storage.place import Server
from tests.commands.record import Record
from tests.storage.made import rows_of
from tests.storage.servers import database

SCREENS = (("H-1", 1), ("H-2", 2), ("H-1", 3))


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "record.db"


def test_each_table_is_told_with_its_rows_and_digest(record: Record) -> None:
    record.filled(*SCREENS)
    with database() as server:
        told = record.done("move", str(record.place), place=server)
        assert "screen: 3 rows, the same on both. SHA-256 " in told
        assert rows_of(server, "screen") == rows_of(server, "plan") == 3
        assert rows_of(record.place, "screen") == 3
        code, out, err = record("move", str(record.place), place=server)
        assert (code, out) == (WRONG_USE, "") and "already: nothing was moved" in err
    with database() as server:
        copied = json.loads(record.done("move", str(record.place), "--json", place=server))
    assert copied["rows"]["screen"] == 3 and len(copied["digests"]["screen"]) == 64


def test_a_file_that_is_served_or_not_there_and_no_server_are_refused(record: Record) -> None:
    nowhere = Server("host=127.0.0.1 port=1 dbname=none")
    assert record("move", str(record.place), place=nowhere)[0] == WRONG_USE
    record.filled(*SCREENS)
    code, _, err = record("move", str(record.place))
    assert code == WRONG_USE and "STANCHION_POSTGRES" in err
    with database() as server, hold_lock(record.place):
        code, _, err = record("move", str(record.place), place=server)
        assert code == CANNOT and "served by another process" in err
        assert rows_of(server, "organisation") == 0
    code, _, err = record("move", str(record.place), place=nowhere)
    assert code == CANNOT and "cannot be used" in err


def test_what_came_in_otherwise_is_told_and_not_kept(
    record: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    record.filled(*SCREENS)
    copy = transfer._copy

    def careless(there: object, here: object, name: str, say: transfer.Progress) -> None:
        copy(there, here, name, say)
        if name == "plan":
            here.execute("DELETE FROM plan")  # type: ignore[attr-defined]

    monkeypatch.setattr(transfer, "_copy", careless)
    with database() as server:
        code, out, err = record("move", str(record.place), place=server)
        assert (code, out) == (CHECK_FAILED, "") and "nothing was kept" in err
        assert rows_of(server, "screen") == 0
