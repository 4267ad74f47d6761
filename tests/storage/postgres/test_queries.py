"""Does each statement of the serving path touch a few rows only, in a database of some size?

Each is run as the role that runs it. A reader's is planned for its own values; the writer's also,
as the server may do after a few runs, for any.
"""

import re
from collections.abc import Iterator
from typing import Any

import psycopg
import pytest
from psycopg.sql import SQL, Literal

from service.storage import queries, statements_postgres
from service.storage.place import Server
from service.storage.postgres.connection import ReadConnection, connected
from tests.storage.postgres.filled import ORG, fill, given
from tests.storage.servers import database
from tests.storage.test_queries import WHOLE

MOST = 400
"""Rows looked at, where a page holds 50 and the patient has ten screens."""
# Searches and pages, which the writer never asks.
PAGES = re.compile("find_|told_of|audit_(up|down)")
SMALL = {"organisation", "credential", "audit_seal"}
# What a command walks through once, or every transaction changes by its key.
WALKS = {"unseen_patients"}
READS = sorted(queries.reads().keys() - WHOLE - WALKS)
WRITES = ["update_patient", "redirect_merged", "forget_claims"]


@pytest.fixture(scope="module")
def filled() -> Iterator[Server]:
    with database() as server:
        fill(server)
        yield server


def plan_of(address: str, name: str, mode: str) -> dict[str, Any]:
    """How the server ran it, with what it found on the way."""
    text = getattr(statements_postgres, name.upper())
    names: list[str] = []

    def numbered(found: "re.Match[str]") -> str:
        if found[1] not in names:
            names.append(found[1])
        return f"${names.index(found[1]) + 1}"

    text = re.sub(r"%\((\w+)\)s", numbered, text)
    values = given(name)
    told = [Literal(str(values[one]) if one in values else None) for one in names]
    with_values = SQL("({})").format(SQL(", ").join(told)) if told else SQL("")
    run = SQL("EXPLAIN (ANALYZE, FORMAT JSON) EXECUTE asked{}").format(with_values)
    with psycopg.connect(address) as connection:
        connection.execute("SELECT set_config('app.org', %s, true)", (ORG,))
        connection.execute(f"SET LOCAL plan_cache_mode = force_{mode}_plan".encode())
        connection.execute(f"PREPARE asked AS {text}".encode())
        row = connection.execute(run).fetchone()
        connection.rollback()
    assert row is not None
    found: dict[str, Any] = row[0][0]["Plan"]
    return found


def nodes(plan: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield plan
    for inner in plan.get("Plans", []):
        yield from nodes(inner)


def touched(node: dict[str, Any]) -> float:
    each = sum(
        node.get(name, 0)
        for name in ("Actual Rows", "Rows Removed by Filter", "Rows Removed by Index Recheck")
    )
    return float(each * node["Actual Loops"])


def faults(plan: dict[str, Any]) -> list[str]:
    said = []
    for node in nodes(plan):
        if node["Node Type"] == "Seq Scan" and node["Relation Name"] not in SMALL:
            said.append(f"walks through {node['Relation Name']}")
        if "Scan" in node["Node Type"] and touched(node) > MOST:
            said.append(f"{node['Node Type']} looks at {touched(node):.0f} rows: {node}")
    return said


@pytest.mark.parametrize("name", READS)
def test_a_read_looks_at_a_few_rows_only(filled: Server, name: str) -> None:
    assert filled.read is not None
    assert faults(plan_of(filled.read, name, "custom")) == []


def test_a_reader_has_each_reading_planned_for_its_own_values(filled: Server) -> None:
    assert filled.read is not None
    connection = ReadConnection(connected(filled.read))
    for _ in range(8):  # more often than the driver waits before it prepares a statement
        connection.begin()
        mode = connection.execute("SHOW plan_cache_mode").fetchone()
        connection.raw.execute("ROLLBACK")
        assert mode == ("force_custom_plan",)
    connection.close()


@pytest.mark.parametrize("mode", ["custom", "generic"])
@pytest.mark.parametrize("name", [*(one for one in READS if not PAGES.match(one)), *WRITES])
def test_what_a_batch_asks_and_changes_is_found_by_an_index(
    filled: Server, name: str, mode: str
) -> None:
    assert faults(plan_of(filled.write, name, mode)) == []


def test_a_walk_through_a_whole_table_is_found(filled: Server) -> None:
    told = faults(plan_of(filled.write, "audit_trail", "custom"))
    assert any("looks at" in one or "walks" in one for one in told)
