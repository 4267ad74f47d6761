"""What do the tests of the web stand on? The whole application over a real store and rule book."""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, cast

import httpx
from msgspec import Struct

from service.application.service import Service
from service.domain.record import Principal
from service.domain.scope import EVERYTHING, granted
from service.fhir.site import site_of
from service.rules.load import load_book
from service.storage.ids import TimeOrderedIds
from service.storage.keys import create_key
from service.storage.organisations import create_organisation
from service.storage.store import open_store
from service.web.application import web_application
from service.web.gate import Gate
from service.web.house import House
from tests.strategies import NOW

JSON = {"Content-Type": "application/json"}
ALL = (EVERYTHING, "system/AuditEvent.rs")
"""The record and the trail of it, which has to be named."""
FHIR = {"Accept": "application/fhir+json"}


class Clock:
    """A clock that the test moves."""

    def __init__(self, now: datetime) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now

    def pass_time(self, by: timedelta) -> None:
        self.now += by


class World(Struct):
    """A running application. ``client`` carries a key of one organisation, ``stranger`` one
    of another, ``nobody`` none."""

    client: httpx.AsyncClient
    stranger: httpx.AsyncClient
    nobody: httpx.AsyncClient
    clock: Clock
    database: Path
    app: Gate

    async def post(self, body: dict[str, Any], **headers: str) -> dict[str, Any]:
        """Record a screen; its answer."""
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        response = await self.client.post("/v1/screens", json=body, headers=sent)
        assert response.status_code == 201, response.text
        answer: dict[str, Any] = response.json()
        return answer


Change = Callable[[House, str, str], House]
"""What a test makes of the house, given the ids of its own organisation and the other one."""


@asynccontextmanager
async def world(
    folder: Path, *, anyone: bool = False, change: Change = lambda house, *_: house
) -> AsyncIterator[World]:
    clock = Clock(NOW)
    new_id = TimeOrderedIds(clock)
    database = folder / "web.db"
    store = open_store(database, clock, new_id)
    first = create_organisation(database, clock, "Harbour", "Europe/Dublin")
    second = create_organisation(database, clock, "Lakeside", "UTC")
    key = create_key(database, clock, first.org, "ward", scopes=ALL).key
    other_key = create_key(database, clock, second.org, "other", scopes=ALL).key
    book = load_book()
    house = House(
        service=Service(book, store, clock, new_id, store),
        site=site_of(book, "http://testserver/fhir/R4"),
        authenticate=store.authenticate,
        check_writable=store.check_writable,
        anyone=Principal(first.org, "off", "anyone", granted(EVERYTHING)) if anyone else None,
        body_seconds=0.5,
    )
    house = change(house, first.org, second.org)
    app = web_application(house, store.start, store.close)
    async with (
        alive(app),
        client_of(app, key) as mine,
        client_of(app, other_key) as other,
        client_of(app, None) as nobody,
    ):
        yield World(mine, other, nobody, clock, database, app)


def client_of(app: Gate, key: str | None) -> httpx.AsyncClient:
    headers = {} if key is None else {"Authorization": f"Bearer {key}"}
    transport = httpx.ASGITransport(app=cast("Any", app), raise_app_exceptions=False)
    return httpx.AsyncClient(transport=transport, base_url="http://testserver", headers=headers)


@asynccontextmanager
async def alive(app: Gate) -> AsyncIterator[None]:
    """The application between its start and its end, as a server would have it."""
    to_app: asyncio.Queue[Any] = asyncio.Queue()
    from_app: asyncio.Queue[Any] = asyncio.Queue()
    scope: Any = {"type": "lifespan", "asgi": {"version": "3.0"}, "state": {}}
    running = asyncio.create_task(app(scope, to_app.get, from_app.put))
    await to_app.put({"type": "lifespan.startup"})
    assert (await from_app.get())["type"] == "lifespan.startup.complete"
    try:
        yield
    finally:
        await to_app.put({"type": "lifespan.shutdown"})
        assert (await from_app.get())["type"] == "lifespan.shutdown.complete"
        await running


def screen(value: str = "H-1", observed_at: str = "2026-03-04T08:15:00+00:00") -> dict[str, Any]:
    """A small screen of an invented person who stands with a hand on the rail."""
    return {
        "patient": {
            "identifier": {"system": "urn:oid:2.999.7", "value": value},
            "age_years": 80,
            "mass_kg": 71.5,
        },
        "observed_at": observed_at,
        "orders": {"precautions": []},
        "readiness": {"rass": 0, "instructions": "two_step", "cooperation": "cooperative"},
        "stages": {
            "sitting_balance": {"outcome": "achieved", "seconds": 30},
            "rise": {"outcome": "achieved", "hands_used": True},
        },
    }
