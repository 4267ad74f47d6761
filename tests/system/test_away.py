"""While the database is away: is every writer told so, is nothing lost, and does it come back?"""

import time
from collections.abc import Iterator
from contextlib import contextmanager

import psycopg
import pytest
from psycopg.conninfo import conninfo_to_dict

from service.storage.place import Server as Postgres
from tests.exercises.clients import Wards
from tests.exercises.verdict import faults
from tests.storage.made import sql_of
from tests.storage.postgres.test_engine import SEND_AWAY
from tests.storage.servers import database, running
from tests.system.server import command, serving

AWAY_S = 2.5
ON_ITS_WAY_S = 1.0


@pytest.fixture
def place() -> Iterator[Postgres]:
    with database() as server:
        yield server


@contextmanager
def away(place: Postgres) -> Iterator[None]:
    """The server ends every connection to the database and takes no new one."""
    name = conninfo_to_dict(place.write)["dbname"]
    with psycopg.connect(running(), autocommit=True) as connection:

        def allow(word: str) -> None:
            connection.execute(f"ALTER DATABASE {name} ALLOW_CONNECTIONS {word}".encode())

        allow("false")
        try:
            connection.execute(SEND_AWAY.replace("current_database()", f"'{name}'").encode())
            yield
        finally:
            allow("true")


def _answered(wards: Wards, within_s: float) -> bool:
    """Whether a write that begins now is answered."""
    now = time.monotonic() + 0.2
    while time.monotonic() < now + within_s:
        if wards.answered_after(now):
            return True
        time.sleep(0.05)
    return False


def test_while_it_is_away_all_are_told_and_afterwards_nothing_is_missing(place: Postgres) -> None:
    with serving(place, STANCHION_WORKERS="2", STANCHION_RATE="off") as server:
        wards = Wards(server.base, [server.key], 4)
        wards.start()
        try:
            for _ in range(4):
                sql_of(place, SEND_AWAY)
                time.sleep(0.3)
            assert _answered(wards, 20)
            wards.hurry = True
            with away(place):
                gone = time.monotonic()
                time.sleep(AWAY_S)
                ready = server.client.get("/health/ready")
                assert server.client.get("/health/live").status_code == 200
                assert wards.answered_after(gone + ON_ITS_WAY_S) == []
            assert ready.status_code == 503
            assert {"health.database", "health.audit", "health.migrations", "health.outbox"} == {
                fault["rule"] for fault in ready.json()["faults"]
            }
            assert _answered(wards, 20)
        finally:
            wards.stop()
        told = wards.told
        assert told.met["503"] > 0 and told.no_hint == 0
        assert len(told.answered) > 8
        assert server.client.get("/health/ready").status_code == 200
        assert faults(server.base, place, told) == []
        assert server.stop() == 0


def test_a_service_that_finds_no_database_says_so_and_ends() -> None:
    nowhere = Postgres("host=127.0.0.1 port=1 dbname=nothing user=nobody")
    for workers in ("1", "2"):
        ended = command(nowhere, "serve", "--workers", workers, "--port", "0")
        assert ended.returncode == 3
        assert ended.stderr.startswith("The PostgreSQL server cannot be used: ")
        assert "Traceback" not in ended.stderr
