"""Are the numbers given to this machine or to whoever has the token, and to nobody else?"""

from typing import Any

import httpx
import pytest

from tests.web.watched import watched
from tests.web.world import World, screen

TOKEN = "a-token-of-the-scraper"


def from_host(running: World, host: str) -> httpx.AsyncClient:
    """A client that seems to come from ``host``."""
    app: Any = running.app
    transport = httpx.ASGITransport(app=app, client=(host, 1))
    return httpx.AsyncClient(transport=transport, base_url="http://testserver")


async def test_this_machine_reads_the_numbers_and_finds_its_screen_in_them(
    running: World,
) -> None:
    await running.post(screen())
    response = await running.nobody.get("/metrics")
    assert response.status_code == 200
    assert response.headers["content-type"].startswith("text/plain; version=0.0.4")
    route = 'stanchion_requests_total{method="POST",route="/v1/screens",status="201"} 1.0'
    assert route in response.text


@pytest.mark.parametrize("name", ["Forwarded", "X-Forwarded-For", "X-Real-IP", "Via"])
async def test_who_comes_through_a_proxy_is_not_this_machine(running: World, name: str) -> None:
    response = await running.nobody.get("/metrics", headers={name: "127.0.0.1"})
    assert (response.status_code, "STANCHION_METRICS_TOKEN" in response.text) == (403, True)


@pytest.mark.parametrize("host", ["192.0.2.7", "2001:db8::7", "ward.example"])
async def test_another_machine_is_refused(running: World, host: str) -> None:
    async with from_host(running, host) as other:
        assert (await other.get("/metrics")).status_code == 403


async def test_with_a_token_only_who_sends_it_reads_them_from_wherever(running: World) -> None:
    watched(running, metrics_token=TOKEN)
    async with from_host(running, "192.0.2.7") as other:
        good = await other.get("/metrics", headers={"Authorization": f"Bearer {TOKEN}"})
        assert good.status_code == 200
        for wrong in ("", "Bearer wrong", f"Basic {TOKEN}", f"Bearer {TOKEN}é"):
            response = await other.get("/metrics", headers=[(b"Authorization", wrong.encode())])
            assert response.status_code == 401
    assert (await running.client.get("/metrics")).status_code == 401


async def test_a_service_that_is_not_ready_still_tells_its_numbers(running: World) -> None:
    running.app.running.phase.draining = True
    response = await running.nobody.get("/metrics")
    assert response.status_code == 200
    assert "stanchion_requests_running 1.0" in response.text
