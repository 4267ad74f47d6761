"""What do the tests of writing over FHIR send, and how?"""

from typing import Any

import httpx
import msgspec
from msgspec.structs import replace

from service.domain.screen import Screen
from service.domain.value import Identifier
from tests.fhir.answers import BARE
from tests.fhir.responses import Raw, json_of, plain
from tests.web.world import World, screen

BASE = "/fhir/R4"
RESPONSES = f"{BASE}/QuestionnaireResponse"
ABSOLUTE = f"http://testserver{BASE}"
SENT = {"Content-Type": "application/fhir+json"}
SYSTEM = "urn:oid:2.999.7"
URN = "urn:uuid:8a1c1c1e-2a3b-4c4d-9e8f-00000000000"


def response(value: str = "H-1", at: str = "2026-03-04T08:15:00+00:00") -> Raw:
    """A response of a form tool: the small screen of an invented person."""
    return plain(msgspec.convert(screen(value, at), Screen))


def without_person(raw: Raw | None = None) -> Raw:
    """A response whose items do not say who the person is."""
    raw = raw or response()
    items = [item for item in raw["item"] if item["linkId"] != "patient"]
    return {**raw, "item": items}


def person(value: str = "H-1") -> Raw:
    """A Patient as an EHR sends one."""
    return {
        "resourceType": "Patient",
        "identifier": [{"system": SYSTEM, "value": value}],
        "name": [{"family": "Aldous", "given": ["Mara", "Jo"]}],
        "gender": "female",
        "birthDate": "1948-03-02",
    }


async def post(running: World, raw: Any, path: str = RESPONSES, **headers: str) -> httpx.Response:
    return await sent(running, "POST", raw, path, **headers)


async def put(running: World, raw: Any, path: str, **headers: str) -> httpx.Response:
    return await sent(running, "PUT", raw, path, **headers)


async def sent(running: World, method: str, raw: Any, path: str, **headers: str) -> httpx.Response:
    body = raw if isinstance(raw, bytes) else json_of(raw)
    more = {name.replace("_", "-"): value for name, value in headers.items()}
    return await running.client.request(method, path, content=body, headers={**SENT, **more})


async def count(running: World) -> int:
    answer = await running.client.get("/v1/screens?since=2000-01-01T00:00:00Z&limit=200")
    return len(answer.json()["items"])


async def kept(running: World, answer: httpx.Response) -> dict[str, Any]:
    """The native answer about the screen that an answer's Location names."""
    screen_id = answer.headers["location"].split("/")[-3]
    native = await running.client.get(f"/v1/screens/{screen_id}")
    found: dict[str, Any] = native.json()
    return found


def issues(answer: httpx.Response) -> list[tuple[str, str]]:
    """Expression and rule word of every issue of an OperationOutcome."""
    outcome = answer.json()
    assert outcome["resourceType"] == "OperationOutcome", outcome
    return [
        (
            (issue.get("expression") or [""])[0],
            issue["details"].get("coding", [{}])[0].get("code", ""),
        )
        for issue in outcome["issue"]
    ]


def of(value: str) -> Screen:
    known = Identifier(system=SYSTEM, value=value)
    return replace(BARE, patient=replace(BARE.patient, identifier=known))


def bundle(*entries: Raw, kind: str = "transaction") -> Raw:
    return {"resourceType": "Bundle", "type": kind, "entry": list(entries)}


def entry(resource: Raw | None, method: str, url: str, full_url: str = "", **more: str) -> Raw:
    told: Raw = {"request": {"method": method, "url": url, **more}}
    if resource is not None:
        told["resource"] = resource
    if full_url:
        told["fullUrl"] = full_url
    return told


def created(value: str = "H-1", full_url: str = "", **more: str) -> Raw:
    return entry(response(value), "POST", "QuestionnaireResponse", full_url, **more)
