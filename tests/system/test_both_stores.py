"""Does a record that moved to PostgreSQL answer every question as it did in its file?"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx

from service.demo.post import post_all
from service.demo.scenario import read
from service.demo.served import Place as Served
from tests.house.tree import ROOT
from tests.storage.servers import database
from tests.system.server import Server, command, serving
from tests.system.test_together import _screen

SAME = ("etag", "content-type", "cache-control", "last-modified")
FHIR = ("Patient", "Observation", "QuestionnaireResponse", "CarePlan", "Goal", "Flag", "Task",
        "Provenance")  # fmt: skip
SHORT = {"CarePlan": 3, "Observation": 40}
MOST_PAGES = 3


def fill(server: Server) -> dict[str, Any]:
    """Every sample, one of them corrected and one withdrawn; gives one whole answer."""
    port = int(server.base.rpartition(":")[2])
    list(post_all(Served(server.base, port, server.key), read(ROOT / "samples")))
    first = server.client.post("/v1/screens", json=_screen("B-1"))
    second = server.client.post("/v1/screens", json=_screen("B-1"))
    changed = _screen("B-1") | {"correction_reason": "the wrong hour"}
    where = httpx.URL(first.headers["location"]).path
    tag = {"If-Match": first.headers["etag"]}
    assert server.client.put(where, json=changed, headers=tag).status_code == 200
    where = f"{httpx.URL(second.headers['location']).path}/withdraw"
    assert server.client.post(where, json={"reason": "wrong patient"}).status_code == 200
    told: dict[str, Any] = first.json()
    return told


def asked(one: dict[str, Any]) -> Iterator[str]:
    """Addresses of all kinds: the things themselves, their versions, pages and searches."""
    screen, plan = one["screen"]["id"], one["plan"]["id"]
    patient = one["screen"]["patient_id"]
    for path in (f"screens/{screen}", f"patients/{patient}", f"patients/{patient}/screens",
                 f"patients/{patient}/plan", f"patients/{patient}/plans", f"plans/{plan}",
                 f"plans/{plan}/moves/bed_to_chair", "screens?since=2020-01-01T00:00:00Z",
                 "plans/none"):  # fmt: skip
        yield f"/v1/{path}"
    for kind in FHIR:
        narrowed = "" if kind == "Patient" else f"patient={patient}&"
        yield f"/fhir/R4/{kind}?{narrowed}_count={SHORT.get(kind, 20)}"
    for path in (f"CarePlan/{plan}", f"CarePlan/{plan}/_history", f"CarePlan/{plan}/_history/1",
                 f"QuestionnaireResponse/{screen}/_history", f"Patient/{patient}/_history",
                 f"Observation/{screen}-panel", f"Provenance/{screen}-provenance",
                 f"CarePlan?patient={patient}&_sort=-date&_include=CarePlan:patient",
                 "Observation?category=survey&_lastUpdated=ge2020&_count=50",
                 f"Observation?patient={patient}&_count=0", "Patient/none"):  # fmt: skip
        yield f"/fhir/R4/{path}"


def answer(server: Server, path: str) -> tuple[int, dict[str, str], bytes]:
    got = server.client.get(path)
    return got.status_code, {name: got.headers.get(name, "") for name in SAME}, got.content


def answers(
    server: Server, base: str, paths: list[str]
) -> dict[str, tuple[int, dict[str, str], bytes]]:
    """Also the next pages, as the links of the answers name them below ``base``."""
    told: dict[str, tuple[int, dict[str, str], bytes]] = {}
    waiting = [(path, MOST_PAGES) for path in paths]
    while waiting:
        path, pages = waiting.pop(0)
        told[path] = answer(server, path)
        links = json.loads(told[path][2]).get("link") if "/fhir/" in path else None
        waiting += [
            (link["url"].removeprefix(base), pages - 1)
            for link in (links if isinstance(links, list) else [])
            if link.get("relation") == "next" and pages
        ]
    return told


def test_each_answer_is_the_same_to_the_byte(tmp_path: Path) -> None:
    file = tmp_path / "record.db"
    with serving(file) as server:
        paths = list(asked(fill(server)))
        base, key = server.base, server.key
        before = answers(server, base, paths)
    with database() as place:
        moved = command(place, "move", str(file))
        assert moved.returncode == 0, moved.stderr
        links = {"STANCHION_FHIR_BASE": f"{base}/fhir/R4"}
        with serving(place, key, STANCHION_WORKERS="2", **links) as server:
            after = answers(server, base, paths)
    assert len(before) > len(paths)
    assert {path: told[0] for path, told in before.items() if path in paths} == {
        path: 404 if path.endswith("/none") else 200 for path in paths
    }
    unlike = [path for path in before if _same(before[path]) != _same(after[path])]
    assert unlike == []


def _same(told: tuple[int, dict[str, str], bytes]) -> tuple[int, dict[str, str], bytes]:
    """A problem names the request that it answers."""
    status, headers, _ = told
    return (status, headers, b"") if status == 404 else told
