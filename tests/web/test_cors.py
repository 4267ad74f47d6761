"""May only the pages call that the operator named?"""

from pathlib import Path

import pytest
from msgspec.structs import replace

from service.web.cors import cors_of
from service.web.house import House
from tests.web.world import World, world

NAMED = "https://ward.example"


def named(house: House) -> House:
    return replace(house, running=replace(house.running, origins=(NAMED,)))


async def test_no_page_may_call_unless_the_operator_named_its_origin(running: World) -> None:
    headers = {"Origin": NAMED}
    asked = {**headers, "Access-Control-Request-Method": "POST"}
    for response in (
        await running.client.get("/v1/rules", headers=headers),
        await running.client.options("/v1/screens", headers=asked),
    ):
        assert not [name for name in response.headers if name.startswith("access-control")]
    assert cors_of(()) is None


@pytest.mark.parametrize(("origin", "let_in"), [(NAMED, True), ("https://other.example", False)])
async def test_a_named_origin_is_let_in_without_cookies_and_no_other(
    tmp_path: Path, origin: str, *, let_in: bool
) -> None:
    async with world(tmp_path, change=lambda house, *_: named(house)) as running:
        answer = await running.client.get("/v1/rules", headers={"Origin": origin})
        assert answer.status_code == 200
        assert (answer.headers.get("access-control-allow-origin") == NAMED) is let_in
        assert "access-control-allow-credentials" not in answer.headers
        asked = {
            "Origin": origin,
            "Access-Control-Request-Method": "POST",
            "Access-Control-Request-Headers": "Authorization, Idempotency-Key",
        }
        before = await running.nobody.options("/v1/screens", headers=asked)
        assert (before.headers.get("access-control-allow-origin") == NAMED) is let_in
