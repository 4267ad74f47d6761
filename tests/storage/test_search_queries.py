"""Does each order of a search go along an index, in whole organisations too?"""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from service.storage import statements_sqlite as sql
from service.storage.search_queries import KEYS, SCOPES, WAYS, searches
from tests.storage.made import empty_record

INDEX = {
    "screen_observed": "screen_observed (org=? AND observed>? AND observed<?)",
    "screen_changed": "screen_recorded (org=? AND recorded>? AND recorded<?)",
    "plan_observed": "plan_observed (org=? AND valid_from>? AND valid_from<?)",
    "plan_changed": "plan_event_at (org=? AND at>? AND at<?)",
}


def plan_of(path: Path, name: str) -> list[str]:
    text = getattr(sql, name.upper())
    empty_record(path)
    with closing(sqlite3.connect(path)) as connection:
        named = dict.fromkeys(re.findall(r":(\w+)", text), 1)
        return [row[3] for row in connection.execute(f"EXPLAIN QUERY PLAN {text}", named)]


def test_every_order_is_there_for_one_patient_and_for_all_up_and_down() -> None:
    found = {name for name in searches() if name.startswith("find_")}
    assert found == {
        f"find_{key}_{scope}_{way}" for key in KEYS for scope in SCOPES for way in WAYS
    }


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("key", KEYS)
def test_a_whole_organisation_is_walked_along_an_index_between_two_times(
    tmp_path: Path, key: str, way: str
) -> None:
    steps = plan_of(tmp_path / "record.db", f"find_{key}_all_{way}")
    assert any(INDEX[key] in step for step in steps), steps
    assert not any(step == "USE TEMP B-TREE FOR ORDER BY" for step in steps), steps
