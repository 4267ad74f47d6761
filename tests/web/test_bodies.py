"""Is every body that cannot be taken refused with the right status, and nothing kept of it?"""

import asyncio
import json
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.context import Setting
from service.domain.screen import Screen
from service.domain.shape import read
from service.web.bodies import CorrectedScreen
from service.web.house import House
from tests.web.world import JSON, World, screen, world

GOOD = json.dumps(screen()).encode()


async def nothing_kept(running: World) -> bool:
    feed = await running.client.get("/v1/screens?since=2000-01-01T00:00:00Z")
    return bool(feed.json()["items"] == [])


@pytest.mark.parametrize(
    ("body", "status", "rule"),
    [
        (b"", 400, "json.empty"),
        (b"{", 400, "json.malformed"),
        (b"{'a': 1}", 400, "json.malformed"),
        (GOOD + GOOD, 400, "json.malformed"),
        (b"\xef\xbb\xbf" + GOOD, 400, "json.encoding"),
        (json.dumps(screen()).encode("utf-16"), 400, "json.encoding"),
        (GOOD.replace(b"H-1", b"H-\xff"), 400, "json.encoding"),
        (GOOD.replace(b"71.5", b"NaN"), 400, "json.malformed"),
        (GOOD.replace(b"71.5", b"Infinity"), 400, "json.malformed"),
        (GOOD.replace(b'"rass"', b'"rass": 0, "rass"'), 400, "json.duplicate_key"),
        (b"[" * 100_000, 400, "json.too_deep"),
        (GOOD[:-1] + b',"x":' + b"[" * 50 + b"]" * 50 + b"}", 400, "json.too_deep"),
        (b"[]", 422, "shape.type"),
        (GOOD.replace(b"71.5", b'"71.5"'), 422, "shape.type"),
        (GOOD.replace(b"71.5", b"1e400"), 422, "shape.range"),
        (GOOD.replace(b'"H-1"', b'"H\\u0000"'), 422, "sense.control_character"),
        (GOOD[:-1] + b',"unknown": 1}', 422, "shape.unknown_field"),
        (GOOD.replace(b'"2026-03-04T08:15:00+00:00"', b"1772612100"), 422, "shape.type"),
    ],
)
async def test_a_bad_body_is_refused_and_nothing_is_kept(
    running: World, body: bytes, status: int, rule: str
) -> None:
    for path in ("/v1/screens", "/v1/screens/preview"):
        response = await running.client.post(path, content=body, headers=JSON)
        assert response.status_code == status, response.text
        assert rule in {fault["rule"] for fault in response.json()["faults"]}
    assert await nothing_kept(running)


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Content-Type": "text/plain"},
        {"Content-Type": "application/fhir+json"},
        {"Content-Type": "application/json; charset=iso-8859-1"},
        {"Content-Type": "application/json; charset=utf-16"},
        {"Content-Type": "application/json", "Content-Encoding": "gzip"},
    ],
)
async def test_a_body_in_another_form_is_415(running: World, headers: dict[str, str]) -> None:
    response = await running.client.post("/v1/screens", content=GOOD, headers=headers)
    assert response.status_code == 415
    assert await nothing_kept(running)


@pytest.mark.parametrize(
    "content_type",
    [
        "application/json",
        "Application/JSON",
        'application/json; charset="UTF-8"',
        "application/json;",
    ],
)
async def test_json_is_taken_however_its_type_is_written(running: World, content_type: str) -> None:
    headers = {"Content-Type": content_type}
    response = await running.client.post("/v1/screens", content=GOOD, headers=headers)
    assert response.status_code == 201


async def test_a_body_that_does_not_come_is_given_up(running: World) -> None:
    async def trickle() -> AsyncIterator[bytes]:
        yield GOOD[:10]
        await asyncio.sleep(5)
        yield GOOD[10:]

    response = await running.client.post("/v1/screens", content=trickle(), headers=JSON)
    assert response.status_code == 408
    assert await nothing_kept(running)


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/v1/screens/x/withdraw", {"reason": " "}),
        ("/v1/screens/x/withdraw", {"reason": "a\x00b"}),
        ("/v1/patients/find", {"system": "s:x", "value": "v\x1b"}),
        ("/v1/patients/x/merge", {"into": "a "}),
    ],
)
async def test_texts_of_small_bodies_are_looked_at_too(
    running: World, path: str, body: dict[str, Any]
) -> None:
    response = await running.client.post(path, json=body)
    assert response.status_code == 422
    assert response.json()["faults"][0]["rule"].startswith("sense.")


async def test_the_reason_of_a_correction_is_looked_at_before_the_screen_is_sought(
    running: World,
) -> None:
    body = {**screen(), "correction_reason": "a\x07b"}
    response = await running.client.put("/v1/screens/x", json=body, headers={"If-Match": '"1"'})
    assert [fault["path"] for fault in response.json()["faults"]] == ["/correction_reason"]


def test_a_correction_is_the_screen_with_a_reason_beside_its_fields() -> None:
    body = json.dumps({**screen(), "correction_reason": "Mistyped."}).encode()
    assert read(body, CorrectedScreen).screen() == read(GOOD, Screen)


def at_home(house: House, *_: str) -> House:
    return replace(house, site=replace(house.site, setting=Setting.HOME))


async def test_a_screen_that_does_not_say_its_setting_has_the_organisation_s(
    tmp_path: Path,
) -> None:
    async with world(tmp_path, change=at_home) as running:
        unsaid = await running.post(screen("H-1"))
        said = await running.post(screen("H-2") | {"setting": "acute"})
        address = f"/v1/screens/{unsaid['screen']['id']}"
        correction = screen("H-1") | {"correction_reason": "Wrong hour."}
        headers = {"If-Match": (await running.client.get(address)).headers["etag"]}
        corrected = await running.client.put(address, json=correction, headers=headers)
        wrong = await running.client.post("/v1/screens", json=[screen("H-3")])
    assert unsaid["screen"]["content"]["setting"] == "home"
    assert said["screen"]["content"]["setting"] == "acute"
    assert corrected.json()["screen"]["content"]["setting"] == "home"
    assert wrong.status_code == 422


async def test_without_one_it_is_acute(running: World) -> None:
    unsaid = await running.post(screen("H-1"))
    assert unsaid["screen"]["content"]["setting"] == "acute"
