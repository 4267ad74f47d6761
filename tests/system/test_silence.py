"""Does nothing that was sent of a person get into logs, numbers, problems or addresses?"""

import json
import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from tests.storage.made import sql_of
from tests.system.markers import FREE, SYSTEMS, Said, example, marked, planted, texts_in
from tests.system.server import Server, serving
from tests.system.sockets import line_to
from tests.web.world import FHIR, JSON

HEADERS = (
    "Accept",
    "Accept-Language",
    "Content-Type",
    "Cookie",
    "If-Match",
    "If-None-Match",
    "Idempotency-Key",
    "Origin",
    "Referer",
    "User-Agent",
    "X-Forwarded-For",
    "traceparent",
)
TEMPLATES = (
    "/v1/screens/{}",
    "/v1/plans/{}",
    "/v1/plans/{}/moves/{}",
    "/v1/patients/{}",
    "/v1/patients/{}/plan",
    "/v1/patients/{}/screens",
    "/v1/rules/methods/{}",
    "/docs/{}",
    "/fhir/R4/Patient/{}",
    "/fhir/R4/CarePlan/{}/_history/{}",
    "/fhir/R4/{}",
    "/{}",
)
SEARCHES = (
    "/v1/screens?since={}",
    "/v1/screens?since=2026-01-01T00:00:00Z&cursor={}",
    "/v1/rules?{}={}",
    "/fhir/R4/Patient?identifier=urn:oid:2.999.7|{}",
    "/fhir/R4/Patient?name={}",
    "/fhir/R4/Observation?patient.identifier={}&{}=1",
    "/fhir/R4/CarePlan?patient=Patient/{}&_sort={}",
)
FOUND = {"Patient": "identifier"} | dict.fromkeys(
    ("Observation", "CarePlan", "QuestionnaireResponse", "Provenance"), "patient.identifier"
)


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Server, Path]]:
    database = tmp_path_factory.mktemp("quiet") / "quiet.db"
    with serving(database, STANCHION_RATE="off") as one:
        yield one, database.with_suffix(".log")


@pytest.fixture
def quiet(served: tuple[Server, Path]) -> Server:
    return served[0]


@pytest.fixture
def log(served: tuple[Server, Path]) -> Path:
    return served[1]


def nothing_got_out(said: Said, server: Server, log: Path) -> None:
    """Raises with the places whose words got out, and where."""
    said.texts.append(("metrics", httpx.get(f"{server.base}/metrics").text))
    said.texts.append(("log", log.read_text(encoding="utf-8")))
    out = [(where, found) for where, text in said.texts if (found := said.markers.found_in(text))]
    assert out == []


def test_the_search_finds_what_does_get_out(quiet: Server, log: Path) -> None:
    said = Said()
    answer = quiet.client.post("/v1/screens", json=marked(said.markers))
    assert answer.status_code == 201, answer.text
    assert set(said.markers.found_in(answer.text)) >= {*FREE, *SYSTEMS}
    plain = said.markers.new("request id")
    quiet.client.get("/v1/rules", headers={"X-Request-Id": plain})
    quiet.client.get("/health/live")  # the line before is written by the time of the next
    assert said.markers.found_in(log.read_text(encoding="utf-8")) == ["request id"]


def test_no_text_of_a_kept_screen_gets_out(quiet: Server, log: Path) -> None:
    said = Said()
    screen = marked(said.markers)
    kept = quiet.client.post("/v1/screens", json=screen)
    assert kept.status_code == 201, kept.text
    ids = kept.json()["screen"]
    said.add(kept)
    for path in (
        f"/v1/screens/{ids['id']}",
        f"/v1/patients/{ids['patient_id']}/plan",
        f"/v1/patients/{ids['patient_id']}/screens?limit=1",
    ):
        for headers in ({}, FHIR):
            # what a resource says of the person is for the caller; headers and log are not
            response = quiet.client.get(path, headers=headers)
            assert response.status_code == 200
            said.texts.append((path, str(response.headers.raw)))
    said.add(quiet.client.post("/v1/patients/find", json=screen["patient"]["identifier"]))
    wrong = {"system": screen["patient"]["identifier"]["system"], "value": said.markers.new("find")}
    said.add(quiet.client.post("/v1/patients/find", json=wrong))
    again = planted(screen, "/readiness/rass", 1)  # type: ignore[arg-type]
    said.add(quiet.client.post("/v1/screens", json=again))
    nothing_got_out(said, quiet, log)


def test_no_text_in_a_wrong_place_is_repeated(quiet: Server, log: Path) -> None:
    said, refused = Said(), 0
    for path in set(texts_in(example())) - {*FREE, *SYSTEMS}:
        body = planted(example(), path, said.markers.new(path))
        for headers in ({}, FHIR):
            response = quiet.client.post("/v1/screens", json=body, headers=headers)
            assert response.status_code in (201, 409, 422), path
            refused += response.status_code == 422
            said.add(response)
    assert refused > 60
    key = {**example(), f"Mara {said.markers.new('a key')}": 1}
    said.add(quiet.client.post("/v1/screens", json=key))
    broken = f'{{"patient": "{said.markers.new("broken JSON")}'.encode()
    said.add(quiet.client.post("/v1/screens", content=broken, headers=JSON))
    twice = f'{{"location": "{said.markers.new("a key twice")}", "location": 1}}'.encode()
    said.add(quiet.client.post("/v1/screens", content=twice, headers=JSON))
    nothing_got_out(said, quiet, log)


def test_no_text_of_a_resource_is_repeated(quiet: Server, log: Path) -> None:
    said, refused = Said(), 0
    kept = quiet.client.post("/v1/screens", json={**example(), "source_id": "resource"}).json()
    address = "/fhir/R4/QuestionnaireResponse"
    resource = quiet.client.get(f"{address}/{kept['screen']['id']}").json()
    headers = {"Content-Type": "application/fhir+json"}
    # one of each kind of place: the first answer stands for all that have its form
    kinds = {re.sub("[0-9]+", "0", path): path for path in reversed(list(texts_in(resource)))}
    for path in kinds.values():
        body = planted(resource, path, said.markers.new(path))
        for way in (address, f"{address}/$validate"):
            response = quiet.client.post(way, json=body, headers=headers)
            refused += response.status_code >= 400
            said.texts.append((f"{way} with {path}", outcome_of(response)))
            said.texts.append((f"headers of {way}", str(response.headers.raw)))
    assert refused > 20
    nothing_got_out(said, quiet, log)


def outcome_of(response: httpx.Response) -> str:
    """What is said against the resource; one that was kept may be given back."""
    return response.text if response.json()["resourceType"] == "OperationOutcome" else ""


def test_no_identifier_gets_into_a_fhir_link_or_the_trail(quiet: Server, log: Path) -> None:
    said = Said()
    screen = marked(said.markers)
    kept = quiet.client.post("/v1/screens", json=screen, headers=FHIR)
    assert kept.status_code == 201, kept.text
    said.add(kept)
    who = screen["patient"]["identifier"]
    token = f"{who['system']}|{who['value']}"
    for kind, name in FOUND.items():
        asked = {name: token, "_count": "1"}
        for found in (
            quiet.client.get(f"/fhir/R4/{kind}", params=asked),
            quiet.client.post(f"/fhir/R4/{kind}/_search", data=asked),
        ):
            assert found.status_code == 200
            assert len(found.json()["entry"]) >= 1, kind
            said.add(found)
            said.add(quiet.client.get(f"{found.json()['entry'][0]['fullUrl']}/_history"))
    trail = sql_of(log.with_suffix(".db"), "SELECT body FROM audit")
    assert len(trail) > 10
    said.texts.append(("audit trail", b"".join(body for (body,) in trail).decode()))
    nothing_got_out(said, quiet, log)


def test_no_header_query_or_path_gets_out(quiet: Server, log: Path) -> None:
    said = Said()
    markers = said.markers
    for name in HEADERS:
        headers = {**JSON, name: markers.new(name)}
        said.add(quiet.client.post("/v1/screens", content=b"{}", headers=headers))
        said.add(quiet.client.get("/v1/rules", headers=headers))
    for credential in (
        {"Authorization": f"Bearer {markers.new('bearer')}"},
        {"Authorization": f"Bearer a.{markers.new('token')}.c"},
        {"Authorization": markers.new("scheme")},
        {"X-API-Key": markers.new("key")},
        {"X-Request-Id": f"Mara {markers.new('request id')}"},
    ):
        said.add(httpx.get(f"{quiet.base}/v1/rules", headers=credential))
    for template in (*TEMPLATES, *SEARCHES):
        path = template.format(markers.new(template), markers.new(f"{template} (2)"))
        for headers in ({}, FHIR):
            said.add(quiet.client.get(path, headers=headers))
            said.add(quiet.client.post(path, headers={**headers, **JSON}, content=b"{}"))
    nothing_got_out(said, quiet, log)


async def test_what_is_no_request_at_all_gets_out_nowhere(quiet: Server, log: Path) -> None:
    said = Said()
    for text in ("{} / HTTP/1.1\r\n\r\n", "GET / {}\r\n\r\n", "GET /\x01{} HTTP/1.1\r\n\r\n"):
        async with line_to(quiet.base) as line:
            await line.say(text.format(said.markers.new(text)).encode())
            said.texts.append((text, (await line.heard()).decode("latin-1")))
    nothing_got_out(said, quiet, log)


def test_every_line_of_the_log_is_json_with_its_time_and_level(quiet: Server, log: Path) -> None:
    quiet.client.get("/v1/rules")
    lines = [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()]
    assert len(lines) > 3
    assert all({"time", "level", "event"} <= line.keys() for line in lines)
    assert any(line["event"] == "request" and "org" in line for line in lines)
