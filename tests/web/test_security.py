"""Does nobody get in without a key, and nobody into another's house with one?"""

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.problem import NotAllowed
from service.domain.scope import EVERYTHING
from service.storage.keys import create_key, list_keys, revoke_key
from service.storage.verify import verify_audit
from service.web.house import House
from service.web.routes import OPERATIONS
from service.web.scopes import needs, require
from service.web.security import caller, guarded
from service.web.tokens import Tokens
from service.web.tokens_fetch import fetch_keys
from service.web.tokens_keys import IssuerKeys
from tests.web.tokens_desk import KEY, at, claims, desk, issuer
from tests.web.tokens_world import signed
from tests.web.world import World, client_of, screen, world

GUARDED = [(one.method, one.path) for one in OPERATIONS if not one.open]


@pytest.mark.parametrize(("method", "path"), GUARDED)
async def test_without_a_key_every_guarded_address_answers_401(
    running: World, method: str, path: str
) -> None:
    response = await running.nobody.request(method, path.replace("{", "").replace("}", ""))
    assert response.status_code == 401
    assert response.headers["www-authenticate"] == 'Bearer realm="stanchion"'


async def test_a_key_is_taken_in_either_header(running: World) -> None:
    key = running.client.headers["authorization"].removeprefix("Bearer ")
    for headers in ({"X-API-Key": key}, {"Authorization": f"bearer {key}"}):
        response = await running.nobody.get("/v1/rules", headers=headers)
        assert response.status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Authorization": "Bearer wrong.key"},
        {"Authorization": "Bearer " + "x" * 5000},
        {"Authorization": "Bearer "},
        {"Authorization": "Basic d2FyZDp3YXJk"},
        {"X-API-Key": ""},
        {"X-API-Key": "wrong"},
    ],
)
async def test_a_wrong_key_opens_nothing(running: World, headers: dict[str, str]) -> None:
    response = await running.nobody.get("/v1/rules", headers=headers)
    assert response.status_code == 401
    assert all(value not in response.text for value in headers.values() if len(value) > 10)


async def test_a_wrong_authorization_is_not_healed_by_a_good_key_beside_it(
    running: World,
) -> None:
    key = running.client.headers["authorization"].removeprefix("Bearer ")
    headers = {"Authorization": "Bearer wrong.key", "X-API-Key": key}
    assert (await running.nobody.get("/v1/rules", headers=headers)).status_code == 401


async def test_a_revoked_key_is_refused_within_a_minute(running: World) -> None:
    assert (await running.client.get("/v1/rules")).status_code == 200
    (mine,) = [key for key in list_keys(running.database) if key.name == "ward"]
    revoke_key(running.database, running.clock, mine.id)
    running.clock.now = running.clock.now.replace(minute=1, second=1)
    assert (await running.client.get("/v1/rules")).status_code == 401
    assert (await running.stranger.get("/v1/rules")).status_code == 200


async def test_health_and_the_document_need_no_key(running: World) -> None:
    for path in ("/health/live", "/health/ready", "/health/startup", "/openapi.json", "/docs"):
        assert (await running.nobody.get(path)).status_code == 200


async def test_where_keys_are_off_anyone_is_the_local_organisation(tmp_path: Path) -> None:
    async with world(tmp_path, anyone=True) as running:
        response = await running.nobody.post("/v1/screens", json=screen())
        assert response.status_code == 201
        assert response.json()["screen"]["recorded_by"] == "anyone"


def trusting(house: House, org: str, _: str) -> House:
    """The first organisation's issuer signs with the desk's keys."""
    return replace(house, tokens=desk(issuer(organisation=org)).tokens)


async def test_a_token_opens_its_organisation_at_every_guarded_address(tmp_path: Path) -> None:
    async with world(tmp_path, change=trusting) as running:
        async with client_of(running.app, signed(KEY, claims(scope=EVERYTHING))) as client:
            posted = await client.post("/v1/screens", json=screen())
            assert posted.status_code == 201
            assert posted.json()["screen"]["recorded_by"] == "ward-system"
        plan = f"/v1/plans/{posted.json()['plan']['id']}"
        assert (await running.client.get(plan)).status_code == 200
        assert (await running.stranger.get(plan)).status_code == 404


async def test_a_token_is_held_to_its_scopes_and_time(tmp_path: Path) -> None:
    async with world(tmp_path, change=trusting) as running:
        narrow = signed(KEY, claims(scope="system/Patient.s"))
        async with client_of(running.app, narrow) as client:
            lacking = await client.get("/v1/plans/x")
        assert lacking.status_code == 403
        assert 'scope="system/CarePlan.r"' in lacking.headers["www-authenticate"]
        async with client_of(running.app, signed(KEY, claims(exp=at(-61)))) as client:
            late = await client.get("/v1/plans/x")
        assert late.status_code == 401
        assert 'error="invalid_token"' in late.headers["www-authenticate"]
        assert "run out" in late.json()["detail"]


async def test_a_token_is_taken_in_authorization_alone(tmp_path: Path) -> None:
    async with world(tmp_path, change=trusting) as running:
        token = signed(KEY, claims(scope=EVERYTHING))
        response = await running.nobody.get("/v1/rules", headers={"X-API-Key": token})
        assert response.status_code == 401


async def test_where_no_issuer_is_trusted_a_token_opens_nothing(running: World) -> None:
    async with client_of(running.app, signed(KEY, claims(scope=EVERYTHING))) as client:
        assert (await client.get("/v1/rules")).status_code == 401


async def test_keys_that_cannot_be_read_are_no_fault_of_the_token(tmp_path: Path) -> None:
    def lost(house: House, org: str, _: str) -> House:
        one = issuer(organisation=org, jwks=str(tmp_path / "none.json"))
        keys = IssuerKeys(one, fetch_keys)
        return replace(house, tokens=Tokens([keys], house.service.clock))

    async with world(tmp_path, change=lost) as running:
        async with client_of(running.app, signed(KEY, claims())) as client:
            response = await client.get("/v1/rules")
        assert response.status_code == 503
        assert response.headers["retry-after"] == "10"
        assert (await running.client.get("/v1/rules")).status_code == 200


async def test_refusals_are_in_the_audit_trail_of_whose_credential_it_is(
    running: World, caplog: pytest.LogCaptureFixture
) -> None:
    before = trail(running.database)
    key = running.client.headers["authorization"].removeprefix("Bearer ")
    wrong = key[:-1] + ("a" if key[-1] != "a" else "b")
    for text in (wrong, wrong, "unknown.key"):
        async with client_of(running.app, text) as client:
            assert (await client.get("/v1/rules")).status_code == 401
    (mine,) = [one for one in list_keys(running.database) if one.name == "ward"]
    narrow = create_key(
        running.database, running.clock, mine.org, "narrow", scopes=["system/Goal.r"]
    )
    async with client_of(running.app, narrow.key) as client:
        for _ in range(3):
            assert (await client.get("/v1/plans/x")).status_code == 403
    new = [entry for entry in trail(running.database) if entry not in before]
    refused = [one for one in new if one["action"] in ("credential.refuse", "scope.refuse")]
    assert [(one["credential"], one["outcome"]) for one in refused] == [
        (mine.id, "wrong_secret"),
        (narrow.info.id, "lacks system/CarePlan.r"),
    ]
    assert wrong not in caplog.text and "unknown.key" not in caplog.text
    assert verify_audit(running.database).sound


def trail(database: Path) -> list[dict[str, Any]]:
    """The bodies of the audit trail."""
    with closing(sqlite3.connect(database)) as connection:
        rows = connection.execute("SELECT body FROM audit ORDER BY org, chain, seq").fetchall()
    return [json.loads(row[0]) for row in rows]


async def test_a_scope_that_a_handler_finds_missing_is_noted_as_well(running: World) -> None:
    async def handler(request: Any) -> Any:
        require(await caller(request), needs("Goal", "r"))

    (ward,) = [one for one in list_keys(running.database) if one.name == "ward"]
    made = create_key(running.database, running.clock, ward.org, "x", scopes=["system/Flag.r"])
    headers = {"authorization": f"Bearer {made.key}"}
    app = running.app._router
    scope = {"state": {"request_id": "request-1"}}
    request: Any = SimpleNamespace(app=app, scope=scope, headers=headers)
    with pytest.raises(NotAllowed):
        await guarded(handler, needs("Flag", "r"))(request)
    told = [(one["action"], one["outcome"]) for one in trail(running.database)]
    assert told.count(("scope.refuse", "lacks system/Goal.r")) == 1
