"""Does every answer, refusals too, carry its id and the headers that keep a browser honest?"""

import pytest

from service.web.gate import request_id_of
from tests.web.watched import watched
from tests.web.world import World, screen


@pytest.mark.parametrize("path", ["/health/live", "/nowhere", "/v1/screens", "/docs"])
async def test_every_answer_has_the_safe_headers(running: World, path: str) -> None:
    headers = (await running.nobody.get(path)).headers
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["x-frame-options"] == "DENY"
    assert headers["content-security-policy"].startswith("default-src 'none'")
    assert "server" not in headers


async def test_the_senders_id_comes_back_where_it_is_a_plain_word(running: World) -> None:
    headers = {"X-Request-Id": "ward-7.request_12"}
    response = await running.nobody.get("/nowhere", headers=headers)
    assert response.headers["x-request-id"] == "ward-7.request_12"


@pytest.mark.parametrize("sent", [b"", b"two words", b"x" * 65, b"\xff", b"a\nb"])
def test_an_id_that_is_no_plain_word_is_replaced(sent: bytes) -> None:
    made = request_id_of([(b"x-request-id", sent)])
    assert len(made) == 32 and made.isalnum()
    assert made != request_id_of([])


async def test_head_answers_as_get_without_the_body(running: World) -> None:
    kept = await running.post(screen())
    ids = kept["screen"]
    for path in (
        "/health/live",
        "/openapi.json",
        "/v1/rules",
        f"/v1/screens/{ids['id']}",
        f"/v1/plans/{kept['plan']['id']}",
        f"/v1/patients/{ids['patient_id']}/plans",
    ):
        get, head = await running.client.get(path), await running.client.head(path)
        assert (head.status_code, head.content) == (200, b"")
        for name in ("content-type", "content-length", "etag", "vary"):
            assert head.headers.get(name) == get.headers.get(name)
    assert (await running.client.head("/nowhere")).status_code == 404


async def test_options_lists_the_methods(running: World) -> None:
    response = await running.nobody.options("/v1/screens")
    assert response.status_code == 204
    assert set(response.headers["allow"].split(", ")) == {"GET", "HEAD", "POST", "OPTIONS"}


async def test_an_answer_is_kept_by_no_cache_unless_it_says_otherwise(running: World) -> None:
    assert (await running.nobody.options("/v1/screens")).headers["cache-control"] == "no-store"
    asset = await running.nobody.get("/docs/swagger-ui.css")
    assert asset.headers["cache-control"] == "public, max-age=3600"


async def test_only_where_clients_come_by_https_are_they_told_to_stay_there(
    running: World,
) -> None:
    name = "strict-transport-security"
    assert name not in (await running.nobody.get("/health/live")).headers
    watched(running, tls=True)
    assert (await running.nobody.get("/health/live")).headers[name] == "max-age=31536000"


async def test_no_answer_sets_a_cookie_and_no_problem_is_packed(running: World) -> None:
    headers = {"Accept-Encoding": "br, gzip"}
    body = {**screen(), "unknown": ["x"] * 300}
    kept = await running.client.post("/v1/screens", json=screen(), headers=headers)
    faulty = await running.client.post("/v1/screens", json=body, headers=headers)
    assert (kept.status_code, faulty.status_code) == (201, 422)
    assert "content-encoding" not in faulty.headers
    for response in (kept, faulty):
        assert "set-cookie" not in response.headers
