"""Does nothing of one organisation reach another, at any address of the native interface?

The operations come from the document's own table. One that is not covered here fails.
"""

import re
from typing import Any

import httpx
import pytest

from service.web.document import document
from service.web.operation import Operation
from service.web.routes import OPERATIONS
from tests.web.foreign import NUMBER, Foreign, body, recorded
from tests.web.world import World, screen

OWN = {"screen_id", "patient_id", "plan_id"}
"""Path parameters that are ids of an organisation's own things."""

SHARED = {"move": "bed_to_chair", "move_id": "bed_to_chair", "method_id": "sling_lift", "name": "x"}
"""Path parameters that are words of the rule book or of the page."""

IDENTIFIER = {"system": "urn:oid:2.999.7", "value": NUMBER}
BODIES: dict[str, Any] = {
    "recordScreen": screen("H-1"),
    "previewScreen": screen("H-1"),
    "correctScreen": body() | {"correction_reason": "Wrong hour."},
    "withdrawScreen": {"reason": "Wrong person."},
    "overrulePlan": {
        "move": "bed_to_chair",
        "method": "do_not_move",
        "reason": "Fainted twice.",
        "by": {"identifier": {"system": "urn:oid:2.999.9", "value": "S-31"}},
    },
    "lapsePlan": {"trigger": "fall"},
    "findPatient": IDENTIFIER,
}
SINCE = "?since=2000-01-01T00:00:00Z"
QUERIES = {"screensSince": SINCE, "auditSince": SINCE}
HEADERS = {one: {"If-Match": '"1"'} for one in ("correctScreen", "overrulePlan")}
ON_NOBODY = [one for one in OPERATIONS if not OWN & set(re.findall(r"{(\w+)}", one.path))]
ON_SOMEBODY = [one for one in OPERATIONS if one not in ON_NOBODY]


@pytest.fixture
async def foreign(running: World) -> Foreign:
    return await recorded(running)


def address(one: Operation, ids: dict[str, str]) -> str:
    return re.sub(r"{(\w+)}", lambda found: (SHARED | ids)[found[1]], one.path)


async def asked(
    client: httpx.AsyncClient, one: Operation, foreign: Foreign, into: str = ""
) -> httpx.Response:
    given = BODIES.get(one.id)
    if one.id == "mergePatients":
        given = {"into": into}
    assert (given is None) == (one.body is None), f"{one.id}: say in BODIES what it is sent"
    headers = dict(HEADERS.get(one.id, {}))
    if "If-Match" in headers:
        current = await client.get(address(one, foreign.ids))
        headers["If-Match"] = current.headers.get("etag", headers["If-Match"])
    path = address(one, foreign.ids) + QUERIES.get(one.id, "")
    return await client.request(one.method, path, json=given, headers=headers)


def test_the_document_has_no_operation_that_is_not_asked_here() -> None:
    told = {(method.upper(), path) for path, item in document()["paths"].items() for method in item}
    assert told == {(one.method, one.path) for one in [*ON_NOBODY, *ON_SOMEBODY]}
    for one in OPERATIONS:
        unknown = set(re.findall(r"{(\w+)}", one.path)) - OWN - SHARED.keys()
        assert not unknown, f"{one.id}: say whether {unknown} is an organisation's own"


@pytest.mark.parametrize("form", ["application/json", "application/fhir+json, */*;q=0.1"])
@pytest.mark.parametrize("one", ON_SOMEBODY, ids=lambda one: one.id)
async def test_another_organisation_s_id_is_404_and_shows_nothing(
    running: World, foreign: Foreign, one: Operation, form: str
) -> None:
    mine = (await running.post(screen("H-2")))["screen"]["patient_id"]
    other = await running.stranger.post("/v1/screens", json=screen("H-1"))
    into = other.json()["screen"]["patient_id"]
    running.stranger.headers["Accept"] = form
    refused = await asked(running.stranger, one, foreign, into)
    assert refused.status_code == 404, refused.text
    assert foreign.seen_in(refused) == set()
    # the same from its own organisation is answered: the refusal was not for want of a good request
    allowed = await asked(running.client, one, foreign, mine)
    assert allowed.status_code == 200, allowed.text


@pytest.mark.parametrize("one", ON_NOBODY, ids=lambda one: one.id)
async def test_an_address_without_an_id_shows_nothing_of_another_organisation(
    running: World, foreign: Foreign, one: Operation
) -> None:
    response = await asked(running.stranger, one, foreign)
    assert response.status_code in ((404,) if one.id == "findPatient" else (200, 201, 404))
    sent = str(BODIES.get(one.id)) if one.id != "findPatient" else ""
    assert foreign.seen_in(response, sent) == set()
    if one.id == "screensSince":
        assert response.json()["items"] == []


async def test_neither_a_key_nor_a_sender_s_id_leads_into_another_organisation(
    running: World,
) -> None:
    sent = {"Idempotency-Key": "one-key-for-both"}
    first = await running.client.post("/v1/screens", json=body(), headers=sent)
    again = await running.client.post("/v1/screens", json=body(), headers=sent)
    assert again.headers["idempotency-replayed"] == "true"
    second = await running.stranger.post("/v1/screens", json=body(), headers=sent)
    assert second.status_code == 201
    assert "idempotency-replayed" not in second.headers
    for name in ("id", "patient_id"):
        assert first.json()["screen"][name] != second.json()["screen"][name]


async def test_a_cursor_of_one_organisation_shows_another_only_its_own(running: World) -> None:
    for number in range(3):
        await running.post(screen(f"H-{number}"))
    feed = "/v1/screens?since=2000-01-01T00:00:00Z&limit=1"
    page = (await running.client.get(feed)).json()
    mine = (await running.stranger.post("/v1/screens", json=screen("H-0"))).json()["screen"]
    shown = (await running.stranger.get(page["next"])).json()["items"]
    assert {one["id"] for one in shown} <= {mine["id"]}


async def test_nobody_is_merged_across_organisations(running: World, foreign: Foreign) -> None:
    other = await running.stranger.post("/v1/screens", json=screen("H-1"))
    own = other.json()["screen"]["patient_id"]
    into = {"into": foreign.ids["patient_id"]}
    merged = await running.stranger.post(f"/v1/patients/{own}/merge", json=into)
    assert merged.status_code == 404
    assert foreign.seen_in(merged) == set()
    unchanged = await running.stranger.get(f"/v1/patients/{own}")
    assert unchanged.json()["merged_into"] is None


async def test_the_same_person_s_earlier_tests_are_another_organisation_s_own(
    running: World,
) -> None:
    one = screen("H-1") | {"tests": {"timed_up_and_go": {"seconds": 30.0}}}
    await running.post(one)
    later = one | {"observed_at": "2026-03-04T09:00:00+00:00"}
    later["tests"] = {"timed_up_and_go": {"seconds": 12.0}}
    mine = (await running.post(later))["tests"]
    others = (await running.stranger.post("/v1/screens", json=later)).json()["tests"]
    assert mine[0]["change"] is not None
    assert others[0]["change"] is None
