"""Is a record taken up and back at the keyboard, and left alone while it is served?"""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from service.commands import CANNOT, WRONG_USE
from service.storage.connection import hold_lock
from service.storage.migrate import FIRST_ON_A_SERVER, HEAD, SCHEMAS, version_of
from service.storage.place import Server
from service.storage.verify import verify_audit
from tests.commands.record import Record
from tests.storage.made import rows_of


@pytest.fixture
def file(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Record:
    return Record(tmp_path / "record.db", capsys, monkeypatch)


def test_a_record_goes_back_for_an_earlier_release_and_comes_up_again(file: Record) -> None:
    file.filled(("H-1", 1), ("H-2", 2))
    earlier = SCHEMAS[-2]
    told = file.done("migrate", "--to", earlier)
    assert (told, version_of(file.place)) == (
        f"{file.place} is at schema {earlier}.\n",
        earlier,
    )
    assert file.done("migrate") == f"{file.place} is up to date.\n"
    assert version_of(file.place) == HEAD
    assert rows_of(file.place, "screen") == 2
    assert verify_audit(file.place).sound


def test_a_schema_that_there_is_not_is_refused(record: Record) -> None:
    record.done("migrate")
    odd = ["0000", "base", f"{int(HEAD) + 1:04}"]
    if isinstance(record.place, Server):
        odd.append(f"{int(FIRST_ON_A_SERVER) - 1:04}")
    for to in odd:
        code, _, said = record("migrate", "--to", to)
        assert (code, to in said) == (WRONG_USE, True)
    assert version_of(record.place) == HEAD


def test_a_record_that_is_served_is_not_taken_to_another_schema(file: Record) -> None:
    file.done("migrate")
    assert isinstance(file.place, Path)
    with hold_lock(file.place):
        assert "is up to date" in file.done("migrate")
        code, _, said = file("migrate", "--to", SCHEMAS[-2])
    assert (code, "served by another process" in said) == (CANNOT, True)
    assert version_of(file.place) == HEAD


def test_a_record_of_a_later_release_is_named_in_a_line(file: Record) -> None:
    file.done("migrate")
    assert isinstance(file.place, Path)
    with closing(sqlite3.connect(file.place)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    for words in (("migrate",), ("keys", "list"), ("org", "list")):
        code, _, said = file(*words)
        assert (code, said.count("\n")) == (CANNOT, 1)
        assert "written by a later release" in said
