"""Does a backup made under load give the same answers, byte for byte, once it is put back?"""

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import httpx

from tests.house.tree import ROOT
from tests.system.server import Server, command, serving

BODY = json.loads(
    (ROOT / "samples" / "05_new_hip_rises_on_a_stand_aid" / "request.json").read_bytes()
)
KEPT = ("etag", "content-type", "cache-control", "location")
FIRST = 12


def _post(client: httpx.Client, number: int) -> str:
    who = {"identifier": {"system": "urn:oid:2.999.7", "value": f"B-{number}"}}
    changed = {"patient": BODY["patient"] | who, "observed_at": datetime.now(UTC).isoformat()}
    answer = client.post("/v1/screens", json=BODY | changed)
    assert answer.status_code == 201, answer.text
    location: str = answer.headers["location"]
    return httpx.URL(location).path


@contextmanager
def _load(server: Server) -> Iterator[list[str]]:
    """Somebody goes on posting until the block ends."""
    over, posted = threading.Event(), list[str]()

    def go_on() -> None:
        headers = {"Authorization": f"Bearer {server.key}"}
        with httpx.Client(base_url=server.base, headers=headers, timeout=30) as client:
            while not over.is_set() and len(posted) < 2000:
                posted.append(_post(client, FIRST + len(posted)))

    thread = threading.Thread(target=go_on)
    thread.start()
    try:
        yield posted
    finally:
        over.set()
        thread.join()


def _answers(server: Server, paths: list[str]) -> dict[str, tuple[int, dict[str, str], bytes]]:
    told = {}
    for path in paths:
        for accept in ("application/json", "application/fhir+json"):
            answer = server.client.get(path, headers={"Accept": accept})
            headers = {name: answer.headers.get(name, "") for name in KEPT}
            told[f"{path} {accept}"] = (answer.status_code, headers, answer.content)
    return told


def test_a_backup_made_while_others_write_is_one_state_and_answers_the_same(
    tmp_path: Path,
) -> None:
    database, copy = tmp_path / "record.db", tmp_path / "night.db"
    with serving(database) as server:
        first = [_post(server.client, number) for number in range(FIRST)]
        with _load(server) as meanwhile:
            while len(meanwhile) < 5:
                pass
            made = command(database, "backup", str(copy))
        assert made.returncode == 0, made.stderr
        assert len(meanwhile) > 5
        before = _answers(server, first)
        assert all(status == 200 for status, _, _ in before.values())
    restored = tmp_path / "restored.db"
    done = command(restored, "restore", str(copy))
    assert done.returncode == 0, done.stderr
    verified = command(restored, "audit", "verify", "--seals", str(copy) + ".json")
    assert verified.returncode == 0, verified.stdout
    with serving(restored, server.key, STANCHION_FHIR_BASE=f"{server.base}/fhir/R4") as again:
        after = _answers(again, first)
        held = [path for path in meanwhile if again.client.get(path).status_code == 200]
    assert after == before
    # what came while the copy was made is there up to one moment, and nothing after it
    assert held == meanwhile[: len(held)]


def test_a_backup_of_nothing_and_a_restore_over_something_are_refused(tmp_path: Path) -> None:
    database = tmp_path / "record.db"
    assert command(database, "backup", str(tmp_path / "copy.db")).returncode == 2
    assert command(database, "migrate").returncode == 0
    assert command(database, "backup", str(tmp_path / "copy.db")).returncode == 0
    again = command(database, "restore", str(tmp_path / "copy.db"))
    assert again.returncode == 2 and "--replace" in again.stderr
    with serving(database):
        busy = command(database, "restore", str(tmp_path / "copy.db"), "--replace")
        assert busy.returncode == 3 and "served by another process" in busy.stderr
    (tmp_path / "copy.db").write_bytes(b"not the copy")
    changed = command(database, "restore", str(tmp_path / "copy.db"), "--replace")
    assert changed.returncode == 1 and "digest differs" in changed.stderr
