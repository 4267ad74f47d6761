"""Is a server that says nothing given up, and one that is not there asked again before long?"""

import time

import psycopg
import pytest

from service.storage.place import Server
from service.storage.postgres import door
from service.storage.postgres.door import Door


@pytest.mark.parametrize("rows", [1, 3])
def test_a_server_that_does_not_answer_is_given_up(
    server: Server, monkeypatch: pytest.MonkeyPatch, rows: int
) -> None:
    raw = Door(server.write).connection()
    monkeypatch.setattr(door, "PATIENCE_S", 0.2)
    began = time.monotonic()
    with pytest.raises(psycopg.OperationalError), raw.cursor() as cursor:
        cursor.executemany("SELECT pg_sleep(%s)", [(5,)] * rows)
    assert time.monotonic() - began < 4
    assert raw.closed


def test_an_error_that_the_server_tells_does_not_end_the_connection(server: Server) -> None:
    raw = Door(server.write).connection()
    raw.execute("SET statement_timeout = 50")
    with pytest.raises(psycopg.errors.QueryCanceled):
        raw.execute("SELECT pg_sleep(5)")
    assert raw.execute("SELECT 1").fetchone() == (1,)
    raw.close()


def test_the_server_ends_what_nobody_waits_for_any_more(server: Server) -> None:
    raw = Door(server.write).connection()
    for setting in ("statement_timeout", "idle_in_transaction_session_timeout"):
        row = raw.execute("SELECT current_setting(%s)", (setting,)).fetchone()
        assert row == ("14s",)
    raw.close()


def test_where_nobody_was_nobody_is_looked_for_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    way = Door("host=/nowhere dbname=nothing")
    with pytest.raises(psycopg.OperationalError) as first:
        way.connection()
    with pytest.raises(psycopg.OperationalError, match="a moment ago"):
        way.connection()
    assert "a moment ago" not in str(first.value)
    monkeypatch.setattr(door, "REST_S", 0.0)
    way = Door("host=/nowhere dbname=nothing")
    for _ in range(2):
        with pytest.raises(psycopg.OperationalError) as again:
            way.connection()
        assert "a moment ago" not in str(again.value)
