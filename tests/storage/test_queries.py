"""Is every read of the serving path found by an index, and kept inside one organisation?"""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from service.storage import queries
from service.storage import statements_sqlite as sql
from tests.storage.made import empty_record

# Run once at start, by a command, or by the check of the whole trail.
WHOLE = {"organisations", "credentials", "audit_trail", "audit_seals"}
# The index of those that wait is read whole, once a scrape.
WAITING = {"outbox_waiting"}
# A key's prefix and a plan's or credential's id are unique over all organisations.
# What the clock brings about, it brings about for all.
ANY_ORGANISATION = {"credential", "credential_by_id", "last_event", "patients_due", *WAITING}


@pytest.mark.parametrize("name", sorted(queries.reads().keys() - WHOLE - WAITING))
def test_no_read_walks_a_whole_table(tmp_path: Path, name: str) -> None:
    text = getattr(sql, name.upper())
    empty_record(tmp_path / "record.db")
    with closing(sqlite3.connect(tmp_path / "record.db")) as connection:
        named = dict.fromkeys(re.findall(r":(\w+)", text), 1)
        steps = [row[3] for row in connection.execute(f"EXPLAIN QUERY PLAN {text}", named)]
    assert [step for step in steps if step.startswith("SCAN") and "CONSTANT" not in step] == []
    assert not any(re.search(r"USING PRIMARY KEY \(org=\?\)$", step) for step in steps) or name in {
        "organisation",
        "last_seal",
        "unseen_patients",  # a command's own walk over one organisation's patients
    }


@pytest.mark.parametrize("name", sorted(queries.reads().keys() - WHOLE - ANY_ORGANISATION))
def test_every_read_names_the_organisation(name: str) -> None:
    assert re.search(r"\.org =\s:org\b", getattr(sql, name.upper()))
