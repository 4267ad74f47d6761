"""Is every answered screen and choice there when the server is killed ten times under load?"""

import json
import threading
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from typing import Any

import httpx

from service.storage.verify import verify_audit
from tests.system.server import Server, command, key_for, serving
from tests.web.test_plans_overruled import decision, to_chair
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
            source = f"{round_}-{caller}-{number}"
            seen = screen(f"K-{caller}-{number % 3}", datetime.now(UTC).isoformat())
            try:
                response = client.post("/v1/screens", json=seen | {"source_id": source})
                told.add(response)
                if number % 2 == 0:
                    told.add(_overrule(client, response.json()["plan"]["id"], source))
            except httpx.TransportError:
                return


def _overrule(client: httpx.Client, plan: str, reason: str) -> httpx.Response:
    body = decision(reason=reason)
    return client.post(f"/v1/plans/{plan}/overrule", json=body, headers={"If-Match": '"1"'})


def _computed(plan: Answer) -> list[Answer]:
    """What the rules gave, whatever was chosen since, answered or not."""
    return [(one.get("overrule") or {"computed": one})["computed"] for one in plan["moves"]]


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
    assert {response.status_code for response in told.all} == {200, 201}
    return [response.json() for response in told.all]


def test_a_server_killed_ten_times_under_load_has_all_that_it_answered(tmp_path: Path) -> None:
    database = tmp_path / "killed.db"
    key = key_for(database)
    answered: list[Answer] = []
    for round_ in range(KILLS):
        answered += _answered_until_killed(database, key, round_)
        assert verify_audit(database).sound
    with serving(database, key) as server:
        chosen = [answer for answer in answered if "screen" not in answer]
        for answer in answered:
            if "screen" in answer:
                kept = server.client.get(f"/v1/screens/{answer['screen']['id']}").json()
                assert kept["screen"] == answer["screen"]
                assert _computed(kept["plan"]) == answer["plan"]["moves"]
        for plan in chosen:
            kept = server.client.get(f"/v1/plans/{plan['id']}").json()
            assert kept["moves"] == plan["moves"]
            assert to_chair(kept)["overrule"]["computed"] != to_chair(kept)
        assert chosen
        assert server.stop() == 0
    log = database.with_suffix(".log")
    verified = command(database, "audit", "verify", "--seals", str(log), "--json")
    assert (verified.returncode, json.loads(verified.stdout)["faults"]) == (0, [])
