"""Is too much refused with the right status, in both languages, and the limit told?"""

import asyncio
from collections.abc import Iterator
from typing import Annotated, Any

import pytest
from msgspec import Meta, Struct, inspect
from msgspec.structs import replace

from service.domain.problem import Unavailable
from service.web.limits import Limits, Turnstile, refuse_head
from service.web.refusals import TooMany
from service.web.routes import OPERATIONS
from tests.web.watched import numbers, router_of, watched
from tests.web.world import FHIR, JSON, World, screen


async def test_a_body_over_its_limit_is_413_whether_it_is_announced_or_just_comes(
    running: World,
) -> None:
    watched(running, Limits(body_bytes=2048))

    async def dribbled() -> Any:
        for _ in range(40):
            yield b" " * 100

    for content in (b" " * 4000, dribbled()):
        response = await running.client.post("/v1/screens", content=content, headers=JSON)
        assert response.status_code == 413
        assert response.json()["detail"] == "A body may have 2048 bytes at most."
    assert 'stanchion_limited_total{status="413"} 2.0' in numbers(running)


async def test_a_fhir_body_has_a_limit_of_its_own() -> None:
    limits = Limits(body_bytes=2048, fhir_body_bytes=9000)
    assert limits.body_of("/v1/screens") == 2048
    assert limits.body_of("/fhir/R4/QuestionnaireResponse") == 9000
    assert limits.body_of("/fhirless") == 2048


async def test_an_address_and_a_head_over_their_limits_are_414_and_431(running: World) -> None:
    watched(running, Limits(url_bytes=300, head_bytes=1024))
    long = await running.client.get(f"/v1/rules?x={'a' * 400}")
    assert (long.status_code, long.json()["title"]) == (414, "The address is too long.")
    assert "300 bytes" in long.json()["detail"]
    head = await running.client.get("/v1/rules", headers={"X-Long": "a" * 2000})
    assert (head.status_code, "1024 bytes" in head.json()["detail"]) == (431, True)
    fhir = await running.client.get(f"/v1/rules?x={'a' * 400}", headers=FHIR)
    assert fhir.json()["resourceType"] == "OperationOutcome"
    assert (await running.client.get("/v1/rules")).status_code == 200


async def test_a_credential_over_its_rate_waits_and_others_do_not(running: World) -> None:
    watched(running, Limits(rate="3/minute"))
    for _ in range(3):
        assert (await running.client.get("/v1/rules")).status_code == 200
    response = await running.client.get("/v1/rules")
    assert response.status_code == 429
    assert response.json()["detail"] == "This credential may send 3/minute."
    assert 1 <= int(response.headers["retry-after"]) <= 60
    fhir = await running.client.get("/v1/rules", headers=FHIR)
    assert (fhir.status_code, fhir.json()["issue"][0]["code"]) == (429, "throttled")
    assert (await running.stranger.get("/v1/rules")).status_code == 200
    assert (await running.nobody.get("/health/live")).status_code == 200
    assert 'stanchion_limited_total{status="429"} 2.0' in numbers(running)


async def test_a_credential_may_have_so_many_requests_at_once(running: World) -> None:
    turnstile = Turnstile(Limits(credential_concurrency=2))
    states: list[dict[str, Any]] = [{}, {}, {}]
    for state in states[:2]:
        turnstile.enter("/v1/rules")
        turnstile.admit(state, "a")
    turnstile.enter("/v1/rules")
    with pytest.raises(TooMany, match="2 requests running at once"):
        turnstile.admit(states[2], "a")
    turnstile.admit({}, "b")
    turnstile.leave(states[2])
    turnstile.leave(states[0])
    turnstile.enter("/v1/rules")
    turnstile.admit(states[2], "a")
    assert turnstile.inside == 2
    # a refused request gives back what it took
    watched(running, Limits(credential_concurrency=1))
    for _ in range(3):
        assert (await running.client.get("/v1/rules")).status_code == 200
    assert running.app.running.turnstile.inside == 0


async def test_over_its_number_at_once_the_service_says_not_now_but_stays_well(
    running: World,
) -> None:
    turnstile = Turnstile(Limits(concurrency=1))
    turnstile.enter("/v1/rules")
    with pytest.raises(Unavailable):
        turnstile.enter("/v1/rules")
    turnstile.enter("/health/live")
    turnstile.enter("/metrics")
    watched(running, turnstile=turnstile)
    response = await running.client.get("/v1/rules")
    assert (response.status_code, response.headers["retry-after"]) == (503, "1")


async def test_no_answer_in_time_is_504_and_says_what_is_not_known(running: World) -> None:
    watched(running, Limits(request_seconds=0.05))
    state = router_of(running).state

    async def slow() -> None:
        await asyncio.sleep(5)

    state.house = replace(state.house, check_writable=slow)
    response = await running.nobody.get("/health/ready")
    assert response.status_code == 504
    assert "same Idempotency-Key" in response.json()["detail"]
    assert running.app.running.turnstile.inside == 0


async def test_deep_json_and_long_texts_and_lists_are_refused_with_their_limit(
    running: World,
) -> None:
    deep: Any = 1
    for _ in range(50):
        deep = [deep]
    nested = await running.client.post("/v1/screens", json={**screen(), "context": deep})
    assert (nested.status_code, "32 deep" in nested.text) == (400, True)
    texts = await running.client.post("/v1/screens", json={**screen(), "location": "a" * 5000})
    assert texts.status_code == 422
    assert texts.json()["faults"][0]["path"] == "/location"
    many = [{"system": "urn:oid:2.999.7", "value": str(number)} for number in range(500)]
    body = screen()
    body["patient"]["more_identifiers"] = many
    lists = await running.client.post("/v1/screens", json=body)
    assert (lists.status_code, lists.json()["faults"][0]["path"]) == (
        422,
        "/patient/more_identifiers",
    )


def test_a_head_within_its_limits_passes() -> None:
    scope = {"raw_path": b"/v1/rules", "query_string": b"", "headers": [(b"a", b"b")]}
    refuse_head(Limits(), scope)


def unbounded(kind: inspect.Type, path: str) -> Iterator[str]:
    """Every text and list in a body that may be as long as it likes."""
    if isinstance(kind, inspect.Metadata):
        kind = kind.type
    by_enum = isinstance(kind, inspect.DictType) and isinstance(kind.key_type, inspect.EnumType)
    if not by_enum and getattr(kind, "max_length", 0) is None:
        yield path
    for name, inner in inside(kind):
        yield from unbounded(inner, f"{path}/{name}" if name else path)


def inside(kind: inspect.Type) -> list[tuple[str, inspect.Type]]:
    if isinstance(kind, inspect.UnionType):
        return [("", one) for one in kind.types]
    if isinstance(kind, inspect.CollectionType):
        return [("0", kind.item_type)]
    if isinstance(kind, inspect.DictType):
        return [("*", kind.value_type)]
    if isinstance(kind, inspect.StructType):
        return [(field.encode_name, field.type) for field in kind.fields]
    return []


def test_a_text_a_list_and_an_object_without_a_bound_are_found() -> None:
    class Loose(Struct):
        text: str
        many: Annotated[list[str | None], Meta(max_length=3)]
        named: dict[str, int]

    found = list(unbounded(inspect.type_info(Loose), ""))
    assert found == ["/text", "/many/0", "/named"]


@pytest.mark.parametrize("kind", sorted({one.body for one in OPERATIONS if one.body}, key=str))
def test_every_text_and_list_of_a_body_is_bounded(kind: type) -> None:
    assert list(unbounded(inspect.type_info(kind), "")) == []


@pytest.mark.parametrize(
    "address", ["QuestionnaireResponse", "QuestionnaireResponse/$validate", ""]
)
@pytest.mark.parametrize("depth", [60, 900, 100_000])
async def test_deep_json_is_refused_as_fhir_too(running: World, address: str, depth: int) -> None:
    kind = "QuestionnaireResponse" if address else "Bundle"
    body = f'{{"resourceType": "{kind}", "item": {"[" * depth}{"]" * depth}}}'
    headers = {"Content-Type": "application/fhir+json"}
    response = await running.client.post(f"/fhir/R4/{address}", content=body, headers=headers)
    assert (response.status_code, response.json()["resourceType"]) == (400, "OperationOutcome")
    assert "32 deep" in response.text
