"""Is an empty outbox told as one in which nothing waits?"""

import sqlite3
from contextlib import closing
from pathlib import Path

from service.storage.waiting import outbox_waiting
from tests.storage.made import empty_record


def test_nothing_waits_in_an_empty_record(tmp_path: Path) -> None:
    with closing(sqlite3.connect(empty_record(tmp_path / "record.db"))) as connection:
        assert outbox_waiting(connection) == (0, None)
