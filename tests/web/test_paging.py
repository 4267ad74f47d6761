"""Are the parameters of lists read strictly?"""

import pytest

from tests.web.world import World, screen

FEED = "/v1/screens?since=2026-03-04T00:00:00Z"


@pytest.mark.parametrize(
    "query",
    [
        "",
        "?since=yesterday",
        "?since=2026-03-04T00:00:00",
        "?since=1772612100",
        "?since=2026-03-04T00:00:00Z&since=2026-03-04T00:00:00Z",
        "?since=2026-03-04T00:00:00Z&limit=0",
        "?since=2026-03-04T00:00:00Z&limit=201",
        "?since=2026-03-04T00:00:00Z&limit=ten",
        "?since=2026-03-04T00:00:00Z&limit=%D9%A3",
        "?since=2026-03-04T00:00:00Z&cursor=",
        "?since=2026-03-04T00:00:00Z&page=2",
    ],
)
async def test_a_parameter_that_cannot_be_read_is_a_bad_request(running: World, query: str) -> None:
    assert (await running.client.get(f"/v1/screens{query}")).status_code == 400


@pytest.mark.parametrize("version", ["0", "-1", "x", "1.0", "1" * 20])
async def test_a_version_is_a_whole_number_from_one_on(running: World, version: str) -> None:
    assert (await running.client.get(f"/v1/screens/x?version={version}")).status_code == 400


async def test_a_cursor_of_ones_own_making_is_refused(running: World) -> None:
    response = await running.client.get(f"{FEED}&cursor=made-up")
    assert response.status_code == 422
    assert response.json()["faults"][0]["path"] == "/cursor"


async def test_a_link_holds_no_business_identifier(running: World) -> None:
    for number in range(2):
        await running.post(screen(f"H-{number}"))
    link = (await running.client.get(f"{FEED}&limit=1")).json()["next"]
    assert "H-" not in link
    assert "limit=1" in link


async def test_an_unknown_parameter_is_refused_everywhere(running: World) -> None:
    for path in ("/v1/rules", "/v1/screens/x", "/health/live", "/v1/plans/x"):
        assert (await running.client.get(f"{path}?verbose=1")).status_code == 400
