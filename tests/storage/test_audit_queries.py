"""Is the trail read by its index in the order of time, whichever way?"""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from service.storage import statements_sqlite as sql
from service.storage.audit_queries import audits
from tests.storage.made import empty_record


def test_each_statement_is_among_those_that_are_served() -> None:
    assert audits().keys() == {
        "audit_up",
        "audit_down",
        "audit_entry",
        "audit_seal",
        "audit_trail",
        "audit_seals",
        "chain_head",
        "last_seal",
    }
    assert all(hasattr(sql, name.upper()) for name in audits())


@pytest.mark.parametrize("name", ["audit_up", "audit_down", "audit_trail", "audit_seals"])
def test_nothing_is_sorted_for_it_is_in_order_already(tmp_path: Path, name: str) -> None:
    text = getattr(sql, name.upper())
    empty_record(tmp_path / "record.db")
    with closing(sqlite3.connect(tmp_path / "record.db")) as connection:
        named = dict.fromkeys(re.findall(r":(\w+)", text), 1)
        steps = [row[3] for row in connection.execute(f"EXPLAIN QUERY PLAN {text}", named)]
    assert not any("TEMP B-TREE" in step for step in steps)
