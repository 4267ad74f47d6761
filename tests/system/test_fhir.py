"""Does a real server read, list and search over FHIR as its CapabilityStatement says?"""

from pathlib import Path
from typing import Any

import httpx

from tests.fhir.validators import official_faults
from tests.system.server import Server, serving
from tests.web.world import screen

FHIR_JSON = "application/fhir+json; fhirVersion=4.0"
BASE = "/fhir/R4"


def get(client: httpx.Client, path: str, status: int = 200, **headers: str) -> Any:
    address = path if path.startswith("http") else BASE + path
    response = client.get(address, headers=headers)
    assert (response.status_code, response.headers["content-type"]) == (status, FHIR_JSON)
    return response.json()


def matches(client: httpx.Client, path: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    page: str | None = path
    while page is not None:
        bundle = get(client, page)
        found += [one["resource"] for one in bundle.get("entry", [])]
        page = next((one["url"] for one in bundle["link"] if one["relation"] == "next"), None)
    return found


def post(server: Server, value: str, minute: int) -> dict[str, Any]:
    body = screen(value, f"2026-03-04T08:{minute:02d}:00+00:00")
    response = server.client.post("/v1/screens", json=body)
    assert response.status_code == 201, response.text
    answer: dict[str, Any] = response.json()
    return answer


def test_a_server_answers_readings_and_searches_over_fhir(tmp_path: Path) -> None:
    with serving(tmp_path / "record.db") as server:
        client = server.client
        statement = httpx.get(f"{server.base}{BASE}/metadata").json()
        assert statement["implementation"]["url"] == f"{server.base}{BASE}"
        answers = [post(server, "H-1", minute) for minute in range(3)]
        post(server, "H-2", 30)
        patient = answers[0]["screen"]["patient_id"]
        seen = matches(client, f"/Observation?patient={patient}&_count=10")
        assert len({one["id"] for one in seen}) == len(seen)
        assert {one["id"][:36] for one in seen} == {one["screen"]["id"] for one in answers}
        assert get(client, f"/Observation?patient={patient}&_count=0")["total"] == len(seen)
        for one in seen[:3]:
            assert get(client, f"/Observation/{one['id']}") == one
        form = {"patient.identifier": "urn:oid:2.999.7|H-1", "status": "active,completed"}
        found = client.post(f"{BASE}/CarePlan/_search", data=form)
        (entry,) = found.json()["entry"]
        assert entry["resource"]["id"] == answers[-1]["plan"]["id"]
        assert official_faults(found.json()) == []
        held = {"If-None-Match": f'W/"{entry["resource"]["meta"]["versionId"]}"'}
        assert client.get(entry["fullUrl"], headers=held).status_code == 304
        assert client.head(entry["fullUrl"]).headers["etag"] == held["If-None-Match"]


def test_a_server_tells_what_it_cannot_read_as_an_outcome(tmp_path: Path) -> None:
    with serving(tmp_path / "record.db") as server:
        for path in ("/Patient/%00", "/Observation?code=%ff", "/Observation?code=a%00b"):
            response = server.client.get(BASE + path)
            assert response.status_code in (200, 400, 404), path
            assert response.headers["content-type"] == FHIR_JSON
        long = server.client.get(f"{BASE}/Patient?identifier={'x' * 20000}")
        assert (long.status_code, long.headers["content-type"]) == (414, FHIR_JSON)
        large = server.client.post(f"{BASE}/Patient/_search", content=b"x" * 5_000_000)
        assert (large.status_code, large.headers["content-type"]) == (413, FHIR_JSON)
