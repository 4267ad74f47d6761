"""Do the health addresses tell what is so?"""

from typing import Any

from service.domain.problem import Unavailable
from tests.web.world import World


async def test_a_running_service_is_alive_started_and_ready(running: World) -> None:
    for name, status in (("live", "alive"), ("startup", "started"), ("ready", "ready")):
        response = await running.nobody.get(f"/health/{name}")
        assert (response.status_code, response.json()) == (200, {"status": status})


def router_of(running: World) -> Any:
    transport: Any = running.client._transport
    return transport.app._router


async def test_a_store_that_cannot_be_written_is_not_ready_but_alive(running: World) -> None:
    router = router_of(running)
    house, asked = router.state.house, []

    async def full() -> None:
        asked.append(1)
        raise Unavailable("The disk is full.", retry_after_s=5)

    router.state.house = type(house)(
        service=house.service,
        site=house.site,
        authenticate=house.authenticate,
        check_writable=full,
    )
    for _ in range(2):
        response = await running.nobody.get("/health/ready")
        assert (response.status_code, response.headers["retry-after"]) == (503, "5")
    assert len(asked) == 2
    assert (await running.nobody.get("/health/live")).status_code == 200
    router.state.house = house
    assert (await running.nobody.get("/health/ready")).status_code == 200


async def test_the_store_is_asked_once_a_second_at_most(running: World) -> None:
    router = router_of(running)
    house, asked = router.state.house, []

    async def good() -> None:
        asked.append(1)

    router.state.house = type(house)(
        service=house.service,
        site=house.site,
        authenticate=house.authenticate,
        check_writable=good,
    )
    for _ in range(5):
        assert (await running.nobody.get("/health/ready")).status_code == 200
    router.state.house = house
    assert len(asked) <= 2


async def test_before_the_start_is_over_it_says_so(running: World) -> None:
    router_of(running).state.started = False
    response = await running.nobody.get("/health/startup")
    assert response.status_code == 503
