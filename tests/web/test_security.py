"""Does nobody get in without a key, and nobody into another's house with one?"""

from pathlib import Path

import pytest

from service.storage.keys import list_keys, revoke_key
from service.web.routes import OPERATIONS
from tests.web.world import World, screen, world

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
