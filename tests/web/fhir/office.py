"""Who looks after the audit trail in a test, and what is read in an event?"""

import re
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

import httpx
from msgspec import Struct

from service.storage.keys import create_key, list_keys
from service.web.fhir.content import PREFIX
from tests.web.fhir.served import link, matches_of
from tests.web.world import World, client_of

SCOPE = "system/AuditEvent.rs"


class Office(Struct):
    """``client``: of whoever looks after the trail, in the ward's organisation."""

    running: World
    client: httpx.AsyncClient

    async def search(self, query: str = "", status: int = 200) -> dict[str, Any]:
        response = await self.client.get(f"{PREFIX}/AuditEvent?{query}")
        assert response.status_code == status, response.text
        told: dict[str, Any] = response.json()
        return told

    async def found(self, query: str = "") -> list[dict[str, Any]]:
        """Page after page."""
        events: list[dict[str, Any]] = []
        address: str | None = f"{PREFIX}/AuditEvent?{query}"
        while address is not None:
            bundle = (await self.client.get(address)).json()
            events += matches_of(bundle)
            address = link(bundle, "next")
        return events


@asynccontextmanager
async def office_in(running: World) -> AsyncIterator[Office]:
    (org,) = {key.org for key in list_keys(running.database) if key.name == "ward"}
    made = create_key(running.database, running.clock, org, "privacy", scopes=[SCOPE])
    async with client_of(running.app, made.key) as client:
        yield Office(running, client)


def said(event: dict[str, Any]) -> str:
    """The action and the outcome as the trail has them."""
    return re.sub(r"<[^>]*>", "", event["text"]["div"]).removesuffix(".")


def of_patient(event: dict[str, Any]) -> list[str]:
    entities = [one["what"].get("reference", "") for one in event.get("entity", [])]
    return [one.removeprefix("Patient/") for one in entities if one.startswith("Patient/")]
