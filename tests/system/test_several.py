"""Do several processes serve one record, though one of them is killed?"""

import os
import signal
import subprocess
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from service.storage.place import Place
from service.storage.verify import verify_audit
from tests.storage.made import rows_of
from tests.storage.servers import database
from tests.system.server import Server, command, key_for, serving
from tests.system.test_together import _screen

WORKERS = 3
KILLS = 4


@pytest.fixture
def place() -> Iterator[Place]:
    with database() as server:
        yield server


def _hands(server: Server) -> list[int]:
    """The serving processes under the one that watches them."""
    told = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(server.process.pid)],
        capture_output=True,
        text=True,
        check=False,
    )
    return [int(pid) for pid in told.stdout.split()]


def _post(server: Server, over: threading.Event, kept: list[str]) -> None:
    number = 0
    headers = {"Authorization": f"Bearer {server.key}"}
    while not over.is_set() and number < 3000:
        number += 1
        try:
            with httpx.Client(base_url=server.base, headers=headers, timeout=20) as client:
                answer = client.post("/v1/screens", json=_screen(f"S-{number % 7}"))
        except httpx.TransportError:
            continue  # the one who had the connection was killed: nothing was answered
        if answer.status_code == 201:
            kept.append(httpx.URL(answer.headers["location"]).path)


def test_a_killed_process_loses_nothing_that_was_answered_and_another_starts(
    place: Place,
) -> None:
    over = threading.Event()
    kept: list[list[str]] = [[], [], []]
    with serving(place, STANCHION_WORKERS=str(WORKERS)) as server:
        threads = [threading.Thread(target=_post, args=(server, over, each)) for each in kept]
        for thread in threads:
            thread.start()
        try:
            for _ in range(KILLS):
                time.sleep(0.5)
                hands = _hands(server)
                os.kill(hands[0], signal.SIGKILL)
            until = time.monotonic() + 30
            while len(_hands(server)) < WORKERS and time.monotonic() < until:
                time.sleep(0.1)
            assert len(_hands(server)) == WORKERS
            time.sleep(0.5)
        finally:
            over.set()
            for thread in threads:
                thread.join()
        answered = [path for each in kept for path in each]
        assert len(answered) > 20
        statuses = [server.client.get(path).status_code for path in answered]
        assert set(statuses) == {200}
        assert server.stop() == 0
    assert verify_audit(place).sound
    assert rows_of(place, "screen") == rows_of(place, "plan") >= len(answered)


def test_several_processes_on_a_file_are_refused(tmp_path: Path) -> None:
    refused = command(tmp_path / "record.db", "serve", "--workers", "2", "--port", "0")
    assert refused.returncode == 2
    assert "needs PostgreSQL" in refused.stderr


def test_a_record_moves_from_a_file_to_a_server_and_answers_the_same(
    place: Place, tmp_path: Path
) -> None:
    file = tmp_path / "record.db"
    with serving(file) as server:
        paths = [
            httpx.URL(
                server.client.post("/v1/screens", json=_screen(f"M-{n}")).headers["location"]
            ).path
            for n in range(4)
        ]
        before = [server.client.get(path).content for path in paths]
        served = command(place, "move", str(file))
        assert served.returncode == 3, served.stderr
        key = server.key
    moved = command(place, "move", str(file))
    assert moved.returncode == 0, moved.stderr
    assert "screen: 4 rows, the same on both" in moved.stdout
    with serving(place, key) as server:
        assert [server.client.get(path).content for path in paths] == before
    assert command(place, "move", str(file)).returncode == 2


def test_the_numbers_are_those_of_all_processes_whichever_is_asked(place: Place) -> None:
    with serving(place, STANCHION_WORKERS=str(WORKERS)) as server:
        for number in range(12):
            with httpx.Client(base_url=server.base) as client:
                headers = {"Authorization": f"Bearer {server.key}"}
                body = _screen(f"N-{number}")
                assert client.post("/v1/screens", json=body, headers=headers).status_code == 201
        os.kill(_hands(server)[0], signal.SIGKILL)
        told = []
        for _ in range(6):
            with httpx.Client(base_url=server.base, timeout=20) as client:
                told.append(client.get("/metrics").text)
    for text in told:
        assert "stanchion_screens_total 12.0" in text
        assert 'stanchion_requests_total{method="POST",route="/v1/screens",status="201"} 12' in text
        assert 'stanchion_check{check="database"} 1.0' in text


def test_what_stops_each_process_stops_them_all_at_the_start(place: Place, tmp_path: Path) -> None:
    (tmp_path / "ours.toml").write_text("no = 'rule'", encoding="utf-8")
    overlay = {"STANCHION_RULES_OVERLAY": str(tmp_path / "ours.toml")}
    key_for(place)
    refused = command(place, "serve", "--workers", "2", "--port", "0", **overlay)
    assert (refused.returncode, refused.stdout) == (3, "")
    assert "ours.toml" in refused.stderr and "Traceback" not in refused.stderr
