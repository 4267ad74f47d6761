"""Does every answer, refusals too, carry its id and the headers that keep a browser honest?"""

import pytest

from service.web.gate import request_id_of
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
