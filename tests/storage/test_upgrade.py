"""Do migration steps run all or not at all?"""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from service.storage import upgrade
from service.storage.migrate import HEAD, version_of


def test_a_step_that_fails_half_way_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("CREATE TABLE screen (mine TEXT)")
    with pytest.raises(Exception, match="already exists"):
        upgrade.run(path, HEAD, None)
    with closing(sqlite3.connect(path)) as connection:
        tables = connection.execute("SELECT name FROM sqlite_master").fetchall()
    assert tables == [("screen",)]
    assert version_of(path) is None


def test_a_path_with_a_percent_sign_is_no_trouble(tmp_path: Path) -> None:
    path = tmp_path / "100%.db"
    upgrade.run(path, HEAD, None)
    assert version_of(path) == HEAD
