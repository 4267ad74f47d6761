"""Has every refusal its right status, one shape in each language, and nothing of a person in it?"""

import logging
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.problem import (
    Conflict,
    NotAllowed,
    Problem,
    Unavailable,
)
from service.web import problems
from service.web.house import House
from tests.web.world import FHIR, JSON, World, screen


def every_kind(kind: type[Problem] = Problem) -> set[type[Problem]]:
    below = kind.__subclasses__()
    return set(below).union(*map(every_kind, below)) if below else set()


def test_every_problem_has_a_status_and_every_status_a_title() -> None:
    assert every_kind() == {*problems.STATUS, NotAllowed}
    assert set(problems.STATUS.values()) <= set(problems.TITLES)


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/nowhere", 404),
        ("GET", "/v1/screens/%2e%2e", 404),
        ("DELETE", "/v1/screens/x", 405),
        ("PATCH", "/v1/screens", 405),
        ("GET", "/v1/screens/preview/x", 404),
    ],
)
async def test_what_the_router_refuses_is_a_problem_in_both_languages(
    running: World, method: str, path: str, status: int
) -> None:
    native = await running.client.request(method, path)
    assert native.status_code == status
    assert native.headers["content-type"] == "application/problem+json"
    assert native.json()["status"] == status
    assert native.headers["vary"] == "Accept"
    fhir = await running.client.request(method, path, headers=FHIR)
    assert fhir.status_code == status
    assert fhir.headers["content-type"].startswith("application/fhir+json")
    assert fhir.json()["resourceType"] == "OperationOutcome"


@pytest.mark.parametrize(
    ("path", "allowed"),
    [
        ("/v1/screens", {"GET", "HEAD", "POST", "OPTIONS"}),
        ("/v1/screens/x", {"GET", "HEAD", "PUT", "OPTIONS"}),
        ("/v1/screens/x/withdraw", {"POST", "OPTIONS"}),
        ("/health/live", {"GET", "HEAD", "OPTIONS"}),
    ],
)
async def test_a_wrong_method_is_told_every_right_one(
    running: World, path: str, allowed: set[str]
) -> None:
    for method in ("DELETE", "TRACE", "PATCH"):
        response = await running.client.request(method, path)
        assert response.status_code == 405
        assert set(response.headers["allow"].split(", ")) == allowed


async def test_a_body_over_a_mebibyte_is_too_large(running: World) -> None:
    body = b'{"x":"' + b"a" * 1024 * 1024 + b'"}'
    response = await running.client.post("/v1/screens", content=body, headers=JSON)
    assert response.status_code == 413
    assert "1 MiB" in response.json()["detail"]


async def test_faults_are_issues_of_an_operation_outcome(running: World) -> None:
    body = screen()
    body["patient"]["age_years"] = 3
    response = await running.client.post("/v1/screens", json=body, headers=FHIR)
    assert response.status_code == 422
    (issue,) = response.json()["issue"]
    assert issue["severity"] == "error"
    assert "18 or older" in str(issue)


async def test_no_answer_repeats_what_was_sent(running: World) -> None:
    body = {**screen(), "location": {"Mara Aldous": "H-1007-secret"}, "setting": "H-1007-secret"}
    for headers in ({}, FHIR):
        response = await running.client.post("/v1/screens", json=body, headers=headers)
        assert response.status_code == 422
        assert "secret" not in response.text
        assert "Aldous" not in response.text


class Failing:
    """Records that fail in a chosen way."""

    def __init__(self, error: Exception) -> None:
        self.error = error

    def __getattr__(self, name: str) -> Any:
        async def fails(*_: Any, **__: Any) -> Any:
            raise self.error

        return fails


async def failing(running: World, error: Exception) -> Any:
    """The answer to a post when the store raises ``error``."""
    transport: Any = running.client._transport
    router = transport.app._router
    house: House = router.state.house
    broken = replace(house.service, records=Failing(error))
    router.state.house = replace(house, service=broken)
    try:
        return await running.client.post("/v1/screens", json=screen())
    finally:
        router.state.house = house


async def test_a_busy_store_says_when_to_try_again(running: World) -> None:
    response = await failing(running, Unavailable("The disk is full.", retry_after_s=7))
    assert response.status_code == 503
    assert response.headers["retry-after"] == "7"


async def test_a_conflict_is_409(running: World) -> None:
    assert (await failing(running, Conflict("Another post is running."))).status_code == 409


async def test_a_credential_that_may_not_is_403_and_an_unknown_one_401(running: World) -> None:
    known = await failing(running, NotAllowed("Not this.", known=True))
    assert (known.status_code, known.headers["www-authenticate"]) == (403, REALM)
    lacking = await failing(running, NotAllowed("Not this.", known=True, scope="system/Goal.r"))
    said = f'{REALM}, error="insufficient_scope", scope="system/Goal.r"'
    assert (lacking.status_code, lacking.headers["www-authenticate"]) == (403, said)
    unknown = await failing(running, NotAllowed("Who?"))
    assert (unknown.status_code, unknown.headers["www-authenticate"]) == (401, REALM)
    wrong = await failing(running, NotAllowed("Who?", shown=True))
    said = f'{REALM}, error="invalid_token"'
    assert (wrong.status_code, wrong.headers["www-authenticate"]) == (401, said)


REALM = 'Bearer realm="stanchion"'


async def test_a_failure_shows_neither_its_words_nor_its_trace(
    running: World, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.ERROR):
        response = await failing(running, RuntimeError("H-1007 Mara Aldous"))
    assert response.status_code == 500
    assert response.headers["content-type"] == "application/problem+json"
    assert "Aldous" not in response.text + caplog.text
    assert "Traceback" not in response.text + caplog.text
    assert "RuntimeError at " in caplog.text
