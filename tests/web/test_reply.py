"""Is an answer packed where that helps, and the same every time?"""

from decimal import Decimal

from service.web.reply import NATIVE
from tests.web.world import World, screen


def test_decimals_are_written_as_numbers_digit_for_digit() -> None:
    assert NATIVE.encode([Decimal("72.50"), Decimal("1E+1")]) == b"[72.50,1E+1]"


async def test_a_long_answer_is_packed_for_those_who_can_read_it(running: World) -> None:
    for accepted, coding in (("br, gzip;q=0.5", "br"), ("gzip", "gzip")):
        headers = {"Accept-Encoding": accepted}
        response = await running.client.post("/v1/screens", json=screen(), headers=headers)
        assert response.headers["content-encoding"] == coding
        assert response.headers["etag"].endswith(f'+{coding}"')
        assert int(response.headers["content-length"]) < len(response.content)


async def test_a_short_answer_and_one_for_others_is_not_packed(running: World) -> None:
    short = await running.client.get("/health/live", headers={"Accept-Encoding": "gzip"})
    assert "content-encoding" not in short.headers
    for coding in ("identity", "deflate", "", "gzip;q=0"):
        headers = {"Accept-Encoding": coding}
        response = await running.client.post("/v1/screens", json=screen(), headers=headers)
        assert "content-encoding" not in response.headers


async def test_what_is_about_a_person_is_never_kept_by_a_cache(running: World) -> None:
    response = await running.client.post("/v1/screens", json=screen())
    assert response.headers["cache-control"] == "private, no-cache"
    preview = await running.client.post("/v1/screens/preview", json=screen())
    assert preview.headers["cache-control"] == "no-store"
