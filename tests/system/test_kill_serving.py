"""Is every answered screen there when the server itself is killed again and again under load?"""

import json
import threading
from pathlib import Path
from random import Random
from typing import Any

import httpx

from service.storage.verify import verify_audit
from tests.system.server import Server, command, key_for, serving
from tests.web.world import screen

KILLS = 10
CLIENTS = 4
ANSWERS_BEFORE_A_KILL = (5, 40)
DRAWN = Random(1207)  # noqa: S311 - the moments of the kills, the same in each run

Answer = dict[str, Any]


def _post_until_gone(server: Server, caller: int, round_: int, told: "Answers") -> None:
    headers = {"Authorization": f"Bearer {server.key}"}
    with httpx.Client(base_url=server.base, headers=headers, timeout=30) as client:
        for number in range(1000):
            body = screen(f"K-{caller}-{number % 3}") | {"source_id": f"{round_}-{caller}-{number}"}
            try:
                response = client.post("/v1/screens", json=body)
            except httpx.TransportError:
                return
            told.add(response)


class Answers:
    """What all callers were answered, and when there were enough of them to kill the server."""

    def __init__(self, enough: int) -> None:
        self.all: list[httpx.Response] = []
        self.reached = threading.Event()
        self._enough = enough

    def add(self, response: httpx.Response) -> None:
        self.all.append(response)
        if len(self.all) >= self._enough:
            self.reached.set()


def _answered_until_killed(database: Path, key: str, round_: int) -> list[Answer]:
    told = Answers(DRAWN.randint(*ANSWERS_BEFORE_A_KILL))
    with serving(database, key) as server:
        callers = [
            threading.Thread(target=_post_until_gone, args=(server, caller, round_, told))
            for caller in range(CLIENTS)
        ]
        for caller in callers:
            caller.start()
        assert told.reached.wait(30)
        server.kill()
        for caller in callers:
            caller.join()
    assert {response.status_code for response in told.all} == {201}
    return [response.json() for response in told.all]


def test_a_server_killed_ten_times_under_load_has_all_that_it_answered(tmp_path: Path) -> None:
    database = tmp_path / "killed.db"
    key = key_for(database)
    answered: list[Answer] = []
    for round_ in range(KILLS):
        answered += _answered_until_killed(database, key, round_)
        assert verify_audit(database).sound
    with serving(database, key) as server:
        for answer in answered:
            kept = server.client.get(f"/v1/screens/{answer['screen']['id']}").json()
            assert kept["screen"] == answer["screen"]
            assert kept["plan"]["moves"] == answer["plan"]["moves"]
        assert server.stop() == 0
    log = database.with_suffix(".log")
    verified = command(database, "audit", "verify", "--seals", str(log), "--json")
    assert (verified.returncode, json.loads(verified.stdout)["faults"]) == (0, [])
