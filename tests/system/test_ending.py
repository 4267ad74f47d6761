"""Does a real process end with everything done, and go on where nobody was looking?"""

import asyncio
import json
import signal
import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx

from tests.system.server import Server, command, serving
from tests.system.sockets import line_to
from tests.web.world import screen

DRAIN = {"STANCHION_DRAIN_SECONDS": "3", "STANCHION_GRACE_SECONDS": "15"}


def rows(database: Path, statement: str) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(database)) as connection:
        return connection.execute(statement).fetchall()


async def ready(server: Server) -> int:
    async with httpx.AsyncClient(base_url=server.base) as client:
        return (await client.get("/health/ready")).status_code


async def until_nobody_listens(server: Server) -> None:
    for _ in range(150):
        try:
            await ready(server)
        except httpx.TransportError:
            return
        await asyncio.sleep(0.1)
    raise AssertionError("It goes on listening.")


async def test_not_ready_first_then_the_running_requests_end_and_all_is_sealed(
    tmp_path: Path,
) -> None:
    database = tmp_path / "ending.db"
    with serving(database, **DRAIN) as server:
        body = json.dumps(screen()).encode()
        head = (
            f"POST /v1/screens HTTP/1.1\r\nHost: a\r\nX-API-Key: {server.key}\r\n"
            f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
        ).encode()
        async with line_to(server.base) as running:
            await running.say(head + body[:20])
            assert await ready(server) == 200
            server.process.send_signal(signal.SIGTERM)
            await asyncio.sleep(0.5)
            # it drains: told to be ending, and still answering all who come
            assert await ready(server) == 503
            assert server.client.get("/v1/rules").status_code == 200
            # then it listens no more, and waits for the one who is still talking
            await until_nobody_listens(server)
            assert server.process.poll() is None
            await running.say(body[20:])
            assert (await running.answered()).startswith(b"HTTP/1.1 201 ")
        assert server.process.wait(20) == 0
    assert rows(database, "SELECT count(*) FROM screen") == [(1,)]
    verified = json.loads(command(database, "audit", "verify", "--json").stdout)
    assert verified["faults"] == []
    ends = rows(database, "SELECT chain, max(seq) FROM audit GROUP BY chain ORDER BY chain")
    ((seal,),) = rows(database, "SELECT body FROM audit_seal ORDER BY n DESC LIMIT 1")
    assert [(chain, seq) for chain, seq, _ in json.loads(seal)["heads"]] == ends
    log = database.with_suffix(".log").read_text(encoding="utf-8")
    assert "seal {" in log
    assert "Traceback" not in log


async def test_told_twice_it_ends_at_once(tmp_path: Path) -> None:
    with serving(tmp_path / "twice.db", STANCHION_DRAIN_SECONDS="60") as server:
        server.process.send_signal(signal.SIGTERM)
        await asyncio.sleep(0.3)
        assert server.process.poll() is None
        server.process.send_signal(signal.SIGTERM)
        assert server.process.wait(20) == 0


def test_a_plan_that_ran_out_while_the_service_was_down_is_written_down_unread(
    tmp_path: Path,
) -> None:
    database = tmp_path / "down.db"
    with serving(database) as server:
        moment = (datetime.now(UTC) - timedelta(days=9)).isoformat()
        answer = server.client.post("/v1/screens", json=screen(observed_at=moment)).json()
        assert answer["plan"]["state"] == "lapsed"
        server.kill()
    found = "SELECT plan, actor FROM plan_event WHERE kind = 'lapsed'"
    assert rows(database, found) == []
    with serving(database, server.key) as again:
        numbers = again.client.get("/metrics").text
        assert "stanchion_plans_lapsed_total 1.0" in numbers
        again.stop()
    assert rows(database, found) == [(answer["plan"]["id"], "the clock")]
