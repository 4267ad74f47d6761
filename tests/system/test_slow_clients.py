"""Is a client that is slow, endless or greedy on the wire cut off, while others are served?"""

import asyncio
import json
import time
from collections.abc import Iterator
from contextlib import AsyncExitStack

import pytest

from tests.system.server import Server, serving
from tests.system.sockets import dribble, line_to
from tests.web.world import screen

SETTINGS = {
    "STANCHION_HEAD_SECONDS": "2",
    "STANCHION_BODY_SECONDS": "1",
    "STANCHION_REQUEST_SECONDS": "2",
    "STANCHION_KEEP_ALIVE_SECONDS": "1",
    "STANCHION_HEAD_BYTES": "4096",
    "STANCHION_URL_BYTES": "1024",
    "STANCHION_CONNECTIONS": "12",
}


@pytest.fixture(scope="module")
def strict(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with serving(tmp_path_factory.mktemp("strict") / "strict.db", **SETTINGS) as one:
        yield one


async def test_a_head_that_never_ends_is_cut_off_in_time(strict: Server) -> None:
    async with line_to(strict.base) as line:
        head = b"GET /health/live HTTP/1.1\r\nX-Slow: " + b"a" * 300
        slowly = [bytes([byte]) for byte in head]
        heard, took = await dribble(line, slowly, 0.05)
        assert heard.startswith(b"HTTP/1.1 408 ")
        assert 1.8 < took < 9


async def test_a_connection_on_which_nothing_is_said_is_closed(strict: Server) -> None:
    async with line_to(strict.base) as line:
        assert await line.heard() == b""


async def test_an_endless_head_is_cut_off_before_it_fills_the_memory(strict: Server) -> None:
    async with line_to(strict.base) as line:
        await line.say(b"GET /health/live HTTP/1.1\r\nX-Long: ")
        heard, took = await dribble(line, [b"a" * 1024] * 1000, 0.005)
        assert heard.startswith(b"HTTP/1.1 431 ")
        assert took < 1.9


async def test_a_body_that_comes_too_slowly_is_408(strict: Server) -> None:
    async with line_to(strict.base) as line:
        body = json.dumps(screen()).encode()
        head = (
            f"POST /v1/screens HTTP/1.1\r\nHost: a\r\nAuthorization: Bearer {strict.key}\r\n"
            f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
        )
        await line.say(head.encode() + body[:10])
        assert (await line.answered()).startswith(b"HTTP/1.1 408 ")
    assert strict.client.get("/v1/screens?since=2000-01-01T00:00:00Z").json()["items"] == []


async def test_what_is_no_http_is_400_and_told_as_a_problem(strict: Server) -> None:
    async with line_to(strict.base) as line:
        await line.say(b"\x16\x03\x01\x02\x00\x01\x00\x01 mara aldous\r\n\r\n")
        answer = await line.heard()
        assert answer.startswith(b"HTTP/1.1 400 ")
        assert b"application/problem+json" in answer
        assert b"aldous" not in answer


async def test_an_idle_connection_is_closed_and_a_slow_second_head_too(strict: Server) -> None:
    asked = b"GET /health/live HTTP/1.1\r\nHost: a\r\n\r\n"
    async with line_to(strict.base) as line:
        await line.say(asked)
        assert (await line.answered()).startswith(b"HTTP/1.1 200 ")
        assert (await line.heard()).endswith(b'{"status":"alive"}')
    async with line_to(strict.base) as other:
        await other.say(asked + b"GET /health/live HTTP/1.1\r\nX-Slow: ")
        began = time.monotonic()
        heard = await other.heard()
        assert heard.count(b"HTTP/1.1 200 ") == 1
        assert time.monotonic() - began < 8


async def test_an_answer_that_nobody_takes_is_given_up(strict: Server) -> None:
    async with line_to(strict.base) as line:
        asked = f"GET /openapi.json HTTP/1.1\r\nHost: a\r\nX-API-Key: {strict.key}\r\n\r\n".encode()
        line.writer.transport.pause_reading()  # type: ignore[attr-defined]
        try:
            for _ in range(200):
                line.writer.write(asked)
            await asyncio.sleep(3.5)
            await line.say(asked)
            await asyncio.sleep(0.3)
            await line.say(asked)
            cut = False
        except ConnectionError:
            cut = True
        assert cut or line.writer.transport.is_closing()


async def test_beyond_the_most_connections_a_new_one_is_503_and_the_old_are_served(
    strict: Server,
) -> None:
    await asyncio.sleep(1.5)
    async with AsyncExitStack() as open_lines:
        lines = [await open_lines.enter_async_context(line_to(strict.base)) for _ in range(11)]
        await asyncio.sleep(0.1)
        extra = [await open_lines.enter_async_context(line_to(strict.base)) for _ in range(4)]
        heads = [await one.heard() for one in extra[1:]]
        assert all(head.startswith(b"HTTP/1.1 503 ") for head in heads), heads
        await lines[-1].say(b"GET /health/live HTTP/1.1\r\nHost: a\r\n\r\n")
        assert (await lines[-1].answered()).startswith(b"HTTP/1.1 200 ")
    assert strict.client.get("/health/ready").status_code == 200
