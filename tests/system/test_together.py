"""Does the running service keep its word when many want the same thing at once?"""

import json
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from threading import Barrier
from typing import Any

import httpx
import pytest

from service.storage.place import Place
from service.storage.verify import verify_audit
from tests.house.tree import ROOT
from tests.storage.made import rows_of
from tests.storage.servers import database
from tests.system.server import Server, serving

BODY: dict[str, Any] = json.loads(
    (ROOT / "samples" / "05_new_hip_rises_on_a_stand_aid" / "request.json").read_bytes()
)
CLIENTS = 8
READS = 25


@pytest.fixture(params=["a file", "PostgreSQL", "PostgreSQL, three processes"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Place]:
    if request.param == "a file":
        yield tmp_path / "record.db"
        return
    with database() as server:
        yield server


@pytest.fixture
def server(request: pytest.FixtureRequest, place: Place) -> Iterator[Server]:
    workers = "3" if "three" in request.node.callspec.id else "1"
    with serving(place, STANCHION_WORKERS=workers) as running:
        yield running


def _screen(value: str = "T-1") -> dict[str, Any]:
    who = {"identifier": {"system": "urn:oid:2.999.7", "value": value}}
    return BODY | {
        "patient": BODY["patient"] | who,
        "observed_at": datetime.now(UTC).isoformat(),
    }


def _at_once(server: Server, ask: Callable[[httpx.Client, int], Any]) -> list[Any]:
    """What each of the clients got, all of them starting together on connections of their own."""
    line = Barrier(CLIENTS)

    def one(number: int) -> Any:
        headers = {"Authorization": f"Bearer {server.key}"}
        with httpx.Client(base_url=server.base, headers=headers, timeout=30) as client:
            client.get("/health/live")
            line.wait()
            return ask(client, number)

    with ThreadPoolExecutor(CLIENTS) as pool:
        return list(pool.map(one, range(CLIENTS)))


def test_eight_clients_with_one_key_make_one_record(server: Server, place: Place) -> None:
    body, key = _screen(), {"Idempotency-Key": "one-key"}
    answers = _at_once(server, lambda client, _: client.post("/v1/screens", json=body, headers=key))
    assert {answer.status_code for answer in answers} == {201}
    assert len({answer.headers["location"] for answer in answers}) == 1
    assert len({answer.content for answer in answers}) == 1
    replays = Counter(answer.headers.get("idempotency-replayed") for answer in answers)
    assert replays == {None: 1, "true": CLIENTS - 1}
    assert rows_of(place, "screen") == 1


def test_of_eight_writers_with_one_etag_one_wins(server: Server, place: Place) -> None:
    body = _screen()
    first = server.client.post("/v1/screens", json=body)
    where, tag = first.headers["location"], first.headers["etag"]

    def correct(client: httpx.Client, number: int) -> int:
        changed = body | {"correction_reason": f"by writer {number}"}
        return client.put(where, json=changed, headers={"If-Match": tag}).status_code

    assert Counter(_at_once(server, correct)) == {200: 1, 412: CLIENTS - 1}
    assert rows_of(place, "screen") == 2


def test_readers_see_whole_plans_while_others_write(server: Server, place: Place) -> None:
    first = server.client.post("/v1/screens", json=_screen()).json()
    current = f"/v1/patients/{first['screen']['patient_id']}/plan"

    def go_on(client: httpx.Client, number: int) -> list[str]:
        if number % 2:
            return [
                client.post("/v1/screens", json=_screen()).json()["plan"]["id"]
                for _ in range(READS)
            ]
        read = [client.get(current) for _ in range(READS)]
        assert {answer.status_code for answer in read} == {200}
        assert all(answer.json()["state"] == "current" for answer in read)
        return []

    made = {plan for plans in _at_once(server, go_on) for plan in plans}
    assert len(made) == READS * CLIENTS // 2
    assert server.client.get(current).json()["id"] in made
    assert server.stop() == 0
    assert verify_audit(place).sound
    assert rows_of(place, "plan") == len(made) + 1
