"""How does a test see what one request left in the audit trail?"""

import json
from itertools import count
from typing import Any

import httpx
from msgspec import Struct

from service.storage.keys import create_key, list_keys
from tests.storage.made import sql_of
from tests.web.world import World, client_of

Entries = list[tuple[str, str, str | None]]
"""Action, outcome and patient of each entry."""
_NUMBERS = count()


class Left(Struct):
    """An answer, and what asking for it left in the trail."""

    answer: httpx.Response
    entries: Entries


async def asked(
    running: World,
    method: str,
    path: str,
    *,
    client: httpx.AsyncClient | None = None,
    **sent: Any,
) -> Left:
    request_id = f"asked-{next(_NUMBERS)}"
    headers = {**sent.pop("headers", {}), "X-Request-Id": request_id}
    answer = await (client or running.client).request(method, path, headers=headers, **sent)
    return Left(answer, entries_of(running, request_id))


def entries_of(running: World, request_id: str) -> Entries:
    found = [body for body in bodies(running) if body["request_id"] == request_id]
    return [(one["action"], one["outcome"], one["patient"]) for one in found]


def bodies(running: World) -> list[dict[str, Any]]:
    """Every entry of the ward's organisation that has a request."""
    rows = sql_of(running.database, "SELECT body FROM audit ORDER BY chain, seq")
    return [json.loads(body) for (body,) in rows]


def nobody_in_particular(running: World) -> httpx.AsyncClient:
    """A client of the ward's organisation that may do nothing with the record."""
    (org,) = {key.org for key in list_keys(running.database) if key.name == "ward"}
    scopes = ["system/ImmunizationEvaluation.cruds"]
    made = create_key(running.database, running.clock, org, "narrow", scopes=scopes)
    return client_of(running.app, made.key)
