"""Do the health addresses tell what is so, each check by its name?"""

from typing import Any

from msgspec.structs import replace

from service.domain.problem import Unavailable
from service.web.health_checks import OK, Check, Finding, Standing
from tests.web.world import FHIR, World


async def test_a_running_service_is_alive_started_and_ready(running: World) -> None:
    live = await running.nobody.get("/health/live")
    assert (live.status_code, live.json()) == (200, {"status": "alive"})
    startup = await running.nobody.get("/health/startup")
    assert (startup.status_code, startup.json()["status"]) == (200, "started")
    ready = await running.nobody.get("/health/ready")
    assert ready.status_code == 200
    assert ready.json() == {"status": "ready", "checks": {"database": {"status": "ok"}}}


def router_of(running: World) -> Any:
    transport: Any = running.client._transport
    return transport.app._router


def with_checks(running: World, *checks: Check, **more: Any) -> None:
    """The same house, asked ``checks`` too."""
    state = router_of(running).state
    state.house = replace(state.house, running=replace(state.house.running, checks=checks), **more)


def check(name: str, finding: Finding, *, at_start: bool = False) -> Check:
    async def ask() -> Finding:
        return finding

    return Check(name, ask, at_start)


async def test_a_store_that_cannot_be_written_is_not_ready_but_alive(running: World) -> None:
    house, asked = router_of(running).state.house, []

    async def full() -> None:
        asked.append(1)
        raise Unavailable("The disk is full.", retry_after_s=9)

    with_checks(running, check_writable=full)
    for _ in range(2):
        response = await running.nobody.get("/health/ready")
        assert (response.status_code, response.headers["retry-after"]) == (503, "5")
        (fault,) = response.json()["faults"]
        assert (fault["rule"], fault["text"]) == ("health.database", "The disk is full.")
    assert len(asked) == 2
    assert (await running.nobody.get("/health/live")).status_code == 200
    router_of(running).state.house = house
    assert (await running.nobody.get("/health/ready")).status_code == 200


async def test_what_fails_is_named_in_both_languages_and_what_warns_does_not_stop(
    running: World,
) -> None:
    low = Finding(Standing.WARN, "Less than 1024 MiB are free.")
    with_checks(running, check("disk", low), check("audit", OK))
    ready = await running.nobody.get("/health/ready")
    assert ready.status_code == 200
    assert ready.json()["checks"]["disk"] == {"status": "warn", "text": low.text}
    assert set(ready.json()["checks"]) == {"database", "disk", "audit"}
    router_of(running).state.house.running.phase.in_doubt = True
    with_checks(running, check("audit", Finding(Standing.FAIL, "No.")), check("disk", low))
    for headers in ({}, FHIR):
        response = await running.nobody.get("/health/ready", headers=headers)
        assert response.status_code == 503
        assert "health.audit" in response.text or "No." in response.text
        assert "health.disk" not in response.text
    told = router_of(running).state.house.running.metrics.text().decode()
    assert 'stanchion_check{check="audit"} 0.0' in told
    assert 'stanchion_check{check="disk"} 0.5' in told


async def test_only_what_must_hold_at_the_start_is_asked_for_the_start(running: World) -> None:
    failing = Finding(Standing.FAIL, "No.")
    with_checks(running, check("outbox", failing), check("migrations", OK, at_start=True))
    startup = await running.nobody.get("/health/startup")
    assert startup.json() == {"status": "started", "checks": {"migrations": {"status": "ok"}}}
    with_checks(running, check("migrations", failing, at_start=True))
    assert (await running.nobody.get("/health/startup")).status_code == 503


async def test_a_service_that_is_to_end_is_not_ready_and_still_answers(running: World) -> None:
    running_of = router_of(running).state.house.running
    running_of.phase.draining = True
    assert (await running.nobody.get("/health/ready")).status_code == 503
    assert (await running.client.get("/v1/rules")).status_code == 200


async def test_the_store_is_asked_once_a_second_at_most(running: World) -> None:
    asked: list[int] = []

    async def good() -> None:
        asked.append(1)

    with_checks(running, check_writable=good)
    for _ in range(5):
        assert (await running.nobody.get("/health/ready")).status_code == 200
    assert len(asked) <= 2
    before = len(asked)
    router_of(running).state.house.running.phase.in_doubt = True
    assert (await running.nobody.get("/health/ready")).status_code == 200
    assert len(asked) == before + 1


async def test_before_the_start_is_over_it_says_so(running: World) -> None:
    router_of(running).state.started = False
    response = await running.nobody.get("/health/startup")
    assert response.status_code == 503
