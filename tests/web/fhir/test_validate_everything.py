"""Is every resource that the running service gives valid, by itself and by our profiles?"""

from typing import Any

import httpx
import pytest

from service.fhir.search_parameters import PARAMETERS
from service.fhir.site import site_of
from service.fhir.validate import read_tree, validate
from service.fhir.validate_finding import Severity
from service.fhir.validate_ours import known_at
from service.rules.load import load_book
from service.web.fhir.routes import DEFINITIONS
from tests.web.fhir.posted import BASE, RESPONSES, SENT, post, response
from tests.web.world import World

KNOWN = known_at(site_of(load_book(), "http://testserver/fhir/R4"))
URN = "urn:uuid:8a1c1c1e-2a3b-4c4d-9e8f-000000000001"


def faults(answer: httpx.Response) -> list[str]:
    told = validate(read_tree(answer.content), KNOWN)
    return [
        f"{answer.request.url}: {each.severity} {each.path} {each.text}"
        for each in told
        if each.severity != Severity.INFORMATION
    ]


async def get(running: World, path: str, **headers: str) -> httpx.Response:
    answer = await running.client.get(f"{BASE}/{path}", headers=headers)
    assert answer.headers["content-type"].startswith("application/fhir+json"), answer.text
    return answer


async def test_what_says_what_is_served(running: World) -> None:
    assert faults(await get(running, "metadata")) == []


@pytest.mark.parametrize("kind", sorted(PARAMETERS))
async def test_every_list_every_version_and_every_history(running: World, kind: str) -> None:
    await post(running, response())
    await post(running, response("H-2"))
    found = await get(running, kind)
    assert faults(found) == []
    entries = found.json().get("entry", [])
    if not entries:
        return
    name = entries[0]["resource"]["id"]
    one = await get(running, f"{kind}/{name}")
    assert faults(one) == []
    assert faults(await get(running, f"{kind}/{name}/_history")) == []
    looked_at = await get(running, f"{kind}/{name}/$validate")
    assert {each["severity"] for each in looked_at.json()["issue"]} == {"information"}
    version = one.json()["meta"]["versionId"]
    assert faults(await get(running, f"{kind}/{name}/_history/{version}")) == []
    assert faults(await get(running, f"{kind}?_count=1")) == []
    assert faults(await get(running, f"{kind}?_count=0")) == []


async def test_what_is_included_with_a_plan(running: World) -> None:
    await post(running, response())
    assert faults(await get(running, "CarePlan?_revinclude=Provenance:target")) == []
    assert faults(await get(running, "CarePlan?_include=CarePlan:patient")) == []


@pytest.mark.parametrize("kind", DEFINITIONS)
async def test_every_list_of_definitions(running: World, kind: str) -> None:
    assert faults(await get(running, f"{kind}?_count=5")) == []


async def test_the_answer_to_a_screen_and_to_a_bundle(running: World) -> None:
    assert faults(await post(running, response())) == []
    assert faults(await post(running, response("H-2"), f"{BASE}/$screen")) == []
    request = {"method": "POST", "url": "QuestionnaireResponse"}
    entry = {"fullUrl": URN, "resource": response("H-3"), "request": request}
    for kind in ("transaction", "batch"):
        bundle = {"resourceType": "Bundle", "type": kind, "entry": [entry]}
        assert faults(await post(running, bundle, BASE)) == []
        assert faults(await post(running, bundle, BASE, Prefer="return=OperationOutcome")) == []
        assert faults(await post(running, bundle, BASE, Prefer="return=representation")) == []


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "Patient/none", 404),
        ("GET", "Nonsense", 404),
        ("DELETE", "Patient/none", 405),
        ("GET", "Patient?_count=-1", 400),
        ("POST", "QuestionnaireResponse", 400),
        ("PUT", "QuestionnaireResponse/none", 428),
    ],
)
async def test_every_refusal(running: World, method: str, path: str, status: int) -> None:
    answer = await running.client.request(
        method, f"{BASE}/{path}", headers={"Accept": "application/fhir+json", **SENT}
    )
    assert answer.status_code == status
    assert faults(answer) == []


async def test_a_response_with_many_faults(running: World) -> None:
    bent: Any = {**response(), "status": "x", "item": [{"linkId": "none"}], "foo": 1}
    refused = await post(running, bent, RESPONSES)
    assert refused.status_code == 422
    assert faults(refused) == []
