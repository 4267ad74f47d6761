"""Does nothing of one organisation reach another, at any address of the FHIR interface?

The addresses come from the table that the router and the CapabilityStatement read. One of a shape
that is not covered here fails.
"""

import re
from typing import Any
from urllib.parse import urlencode

import httpx
import pytest

from service.web.fhir.content import PREFIX
from service.web.fhir.routes import ROUTES, Route
from tests.fhir.responses import json_of
from tests.web.fhir.posted import SENT, SYSTEM, response
from tests.web.foreign import NUMBER, OF_THE_SERVICE, Foreign, recorded
from tests.web.world import World

DEFINED = {
    "ActivityDefinition",
    "CapabilityStatement",
    "CodeSystem",
    "ConceptMap",
    "ImplementationGuide",
    "OperationDefinition",
    "PlanDefinition",
    "Questionnaire",
    "SearchParameter",
    "StructureDefinition",
    "ValueSet",
}
"""Types that are the service's own, the same for all."""

OUTCOME = "OperationOutcome"
TRAIL = "AuditEvent"
"""Each has one of its own, and it is looked into like everything that is found."""
FORM = {"Content-Type": "application/x-www-form-urlencoded"}
IDENTIFIER = f"{SYSTEM}|{NUMBER}"


@pytest.fixture
async def foreign(running: World) -> Foreign:
    return await recorded(running)


def kind_of(route: Route) -> str:
    return route.path.strip("/").split("/")[0]


def shape_of(route: Route) -> str:
    """What follows the type."""
    return route.path.removeprefix(f"/{kind_of(route)}") if kind_of(route)[:1].isupper() else ""


OWN = [one for one in ROUTES if kind_of(one)[:1].isupper() and kind_of(one) not in DEFINED]
ON_ONE = [one for one in OWN if "{id}" in one.path]
SEARCHES = [
    one for one in OWN if (one.method, shape_of(one)) in {("GET", ""), ("POST", "/_search")}
]
WRITES = [one for one in ROUTES if one.method != "GET" and one not in (*ON_ONE, *SEARCHES)]
OTHERS = [one for one in ROUTES if one not in (*ON_ONE, *SEARCHES, *WRITES)]
DELETING = {
    "resourceType": "Parameters",
    "parameter": [{"name": "mode", "valueCode": "delete"}],
}


def addresses(route: Route, foreign: Foreign) -> list[tuple[str, dict[str, Any]]]:
    """The route with every id that the other organisation holds of its type, and what it is."""
    nothing: list[dict[str, Any]] = [{"id": foreign.ids["screen_id"]}]
    found = []
    for one in foreign.resources.get(kind_of(route), nothing):
        path = route.path.replace("{id}", one["id"]).replace("{version}", version_of(one))
        assert "{" not in path, f"{route.path}: say what belongs in its parameters"
        found.append((PREFIX + path, one))
    return found


def version_of(resource: dict[str, Any]) -> str:
    return str(resource.get("meta", {}).get("versionId", "1"))


async def ask(client: httpx.AsyncClient, route: Route, path: str, body: Any) -> httpx.Response:
    if route.method == "GET":
        return await client.get(path)
    headers = {"If-Match": 'W/"1"', "If-None-Exist": f"identifier={NUMBER}", **SENT}
    return await client.request(route.method, path, content=json_of(body), headers=headers)


def test_every_route_has_a_shape_that_is_asked_here() -> None:
    shapes = {
        ("GET", "/{id}"),
        ("GET", "/{id}/_history"),
        ("GET", "/{id}/_history/{version}"),
        ("GET", "/{id}/$validate"),
        ("POST", "/{id}/$validate"),
        ("PUT", "/{id}"),
    }
    assert len(ON_ONE) > 30 and len(SEARCHES) > 15 and len(WRITES) > 5
    for route in ON_ONE:
        assert (route.method, shape_of(route)) in shapes, f"{route.method} {route.path}"
    for route in WRITES:
        assert "{" not in route.path or kind_of(route) in DEFINED, f"{route.method} {route.path}"
    for route in OTHERS:
        assert route.open or kind_of(route) in DEFINED, f"{route.method} {route.path}"


async def test_another_organisation_s_resource_is_not_there(
    running: World, foreign: Foreign
) -> None:
    faults: list[tuple[Any, ...]] = []
    for route in ON_ONE:
        for path, one in addresses(route, foreign):
            body = DELETING if "$validate" in path else one
            refused = await ask(running.stranger, route, path, body)
            seen = foreign.seen_in(refused, json_of(body).decode())
            if refused.status_code != (405 if route.method == "PUT" else 404) or seen:
                faults.append((route.method, path, refused.status_code, seen))
            if route.method == "GET":
                allowed = await running.client.get(path)
                if allowed.status_code != 200 and kind_of(route) in foreign.resources:
                    faults.append((route.method, path, allowed.status_code, "its own"))
    assert faults == []


async def test_a_search_finds_nothing_of_another_organisation(
    running: World, foreign: Foreign
) -> None:
    faults = []
    for route in SEARCHES:
        for query in queries(route, foreign):
            found = await searched(running.stranger, route, query)
            seen = foreign.seen_in(found, query)
            listed = found.json().get("entry", [])
            kinds = {one["resource"]["resourceType"] for one in listed}
            strange = kinds - OF_THE_SERVICE - {OUTCOME, TRAIL}
            if found.status_code not in (200, 400) or seen or strange:
                faults.append((route.method, route.path, query, found.status_code, seen))
    assert faults == []


async def test_the_same_search_finds_its_own_organisation_s(
    running: World, foreign: Foreign
) -> None:
    """The test above would pass if nothing were ever found."""
    found = [
        kind_of(route)
        for route in SEARCHES
        if foreign.ids_of(kind_of(route))
        and (await searched(running.client, route, "")).json().get("total") != 0
    ]
    assert set(found) >= {"Patient", "CarePlan", "Observation", "QuestionnaireResponse"}


async def test_a_write_reaches_nobody_else_s_things(running: World, foreign: Foreign) -> None:
    before = await held(running, foreign)
    faults = []
    reference = {"reference": f"Patient/{foreign.ids['patient_id']}"}
    bodies = (
        {**response("H-1"), "subject": reference},
        foreign.resources["QuestionnaireResponse"][0],
        in_bundle(foreign, "transaction"),
        in_bundle(foreign, "batch"),
        reading(foreign),
    )
    for route in WRITES:
        path = PREFIX + route.path.replace("{id}", "x")
        for body in bodies:
            told = await ask(running.stranger, route, path, body)
            seen = foreign.seen_in(told, json_of(body).decode())
            if told.status_code >= 500 or seen:
                faults.append((route.method, path, told.status_code, seen))
    assert faults == []
    assert await held(running, foreign) == before


async def test_what_is_the_same_for_all_says_nothing_of_anybody(
    running: World, foreign: Foreign
) -> None:
    for route in OTHERS:
        path = PREFIX + re.sub(r"{\w+}", "x", route.path)
        for client in (running.stranger, running.nobody):
            assert foreign.seen_in(await client.get(path)) == set(), route.path


async def test_a_batch_reads_nothing_of_another_organisation(
    running: World, foreign: Foreign
) -> None:
    told = await running.stranger.post(PREFIX, content=json_of(reading(foreign)), headers=SENT)
    assert told.status_code == 200, told.text
    statuses = [one["response"]["status"][:3] for one in told.json()["entry"]]
    assert set(statuses) == {"404"}, told.text
    own = await running.client.post(PREFIX, content=json_of(reading(foreign)), headers=SENT)
    assert {one["response"]["status"][:3] for one in own.json()["entry"]} == {"200"}


def queries(route: Route, foreign: Foreign) -> list[str]:
    ids, person = foreign.ids_of(kind_of(route)), foreign.ids["patient_id"]
    by_person = {"identifier": IDENTIFIER} if kind_of(route) == "Patient" else {"patient": person}
    asked = [{}, by_person, {"_include": "*"}, {"_revinclude": "*"}]
    return [urlencode(one) for one in [*asked, *([{"_id": ",".join(ids)}] if ids else [])]]


async def searched(client: httpx.AsyncClient, route: Route, query: str) -> httpx.Response:
    path = PREFIX + route.path
    if route.method == "GET":
        return await client.get(f"{path}?{query}")
    return await client.post(path, content=query, headers=FORM)


def reading(foreign: Foreign) -> dict[str, Any]:
    """A batch that reads everything the other organisation holds."""
    urls = [f"{kind}/{one}" for kind in foreign.resources for one in foreign.ids_of(kind)]
    entries = [{"request": {"method": "GET", "url": url}} for url in urls[:30]]
    return {"resourceType": "Bundle", "type": "batch", "entry": entries}


def in_bundle(foreign: Foreign, kind: str) -> dict[str, Any]:
    """A Bundle that writes over the other organisation's response."""
    one = foreign.resources["QuestionnaireResponse"][0]
    request = {"method": "PUT", "url": f"QuestionnaireResponse/{one['id']}", "ifMatch": 'W/"1"'}
    entry = {"resource": one, "request": request}
    return {"resourceType": "Bundle", "type": kind, "entry": [entry]}


async def held(running: World, foreign: Foreign) -> Any:
    """What the other organisation's screen and patient are, as it reads them itself."""
    paths = (
        f"/v1/screens/{foreign.ids['screen_id']}",
        f"/v1/patients/{foreign.ids['patient_id']}/screens",
    )
    return [(await running.client.get(path)).json() for path in paths]
