"""Does each check find what it looks for, and never raise?"""

import asyncio
import threading
from datetime import datetime, timedelta
from pathlib import Path

from service.domain.problem import Unavailable
from service.web.health_checks import Standing, disk, outbox, raising, stated
from tests.strategies import NOW


async def test_an_attempt_that_raises_fails_with_its_words() -> None:
    async def bad() -> None:
        raise Unavailable("The disk is full.")

    async def good() -> None: ...

    found = await raising("audit", bad).ask()
    assert (found.status, found.text) == (Standing.FAIL, "The disk is full.")
    assert (await raising("audit", good).ask()).status == Standing.OK


async def test_what_is_not_so_fails_at_the_start_already() -> None:
    check = stated("migrations", lambda: False, "Run stanchion migrate.")
    assert check.at_start
    assert (await check.ask()).text == "Run stanchion migrate."
    assert (await stated("rules", lambda: True, "").ask()).status == Standing.OK


async def test_what_cannot_be_asked_fails_and_does_not_stop_the_others() -> None:
    def gone() -> bool:
        raise ConnectionError("nobody there")

    found = await stated("migrations", gone, "Run stanchion migrate.").ask()
    assert found.status == Standing.FAIL
    assert found.text == "It cannot be asked now (ConnectionError)."


async def test_what_takes_its_time_to_be_asked_stops_nobody_else() -> None:
    over = threading.Event()

    async def go_on() -> None:
        over.set()

    asked = stated("migrations", lambda: over.wait(5), "").ask()
    found, _ = await asyncio.gather(asked, go_on())
    assert found.status == Standing.OK


async def test_little_room_warns_and_less_fails(tmp_path: Path) -> None:
    told: list[int] = []
    huge = 2**40
    assert (await disk(tmp_path / "a.db", 0, 0, told.append).ask()).status == Standing.OK
    assert (await disk(tmp_path / "a.db", huge, 0, told.append).ask()).status == Standing.WARN
    failing = await disk(tmp_path / "a.db", huge, huge, told.append).ask()
    assert failing.status == Standing.FAIL
    assert len(told) == 3 and min(told) > 0


async def test_old_undelivered_entries_warn_and_are_counted() -> None:
    told: list[tuple[int, float]] = []

    async def waiting() -> tuple[int, datetime]:
        return 3, NOW - timedelta(hours=2)

    async def none() -> tuple[int, None]:
        return 0, None

    async def torn() -> tuple[int, None]:
        raise Unavailable("The record cannot be read now.")

    def tell(depth: int, age: float) -> None:
        told.append((depth, age))

    old = await outbox(waiting, lambda: NOW, 3600, tell).ask()
    assert old.status == Standing.WARN
    assert (await outbox(waiting, lambda: NOW, 9000, tell).ask()).status == Standing.OK
    assert (await outbox(none, lambda: NOW, 0, tell).ask()).status == Standing.OK
    assert (await outbox(torn, lambda: NOW, 0, tell).ask()).status == Standing.FAIL
    assert told == [(3, 7200.0), (3, 7200.0), (0, 0.0)]
