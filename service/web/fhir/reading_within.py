"""How is a read inside a Bundle answered? By the same addresses as any other read."""

from collections.abc import Mapping
from contextlib import suppress
from datetime import UTC, datetime
from email.utils import format_datetime, parsedate_to_datetime
from typing import Any, cast
from urllib.parse import unquote

import msgspec
from msgspec import Struct

from service.web.fhir.content import PREFIX
from service.web.house import Ask

_KEPT_STATE = ("request_id", "call", "house")
_KEPT_HEADERS = (b"authorization", b"x-api-key", b"host")
_ACCEPT = (b"accept", b"application/fhir+json")


class Within(Struct, frozen=True):
    """An answer of this very application."""

    status: int
    headers: Mapping[str, str]
    body: bytes

    @property
    def resource(self) -> msgspec.Raw | None:
        return msgspec.Raw(self.body) if self.body else None

    @property
    def said(self) -> str:
        """What the outcome of one that failed says first."""
        text: str = msgspec.json.decode(self.body)["issue"][0]["details"]["text"]
        return text

    @property
    def last_modified(self) -> Any:
        told = self.headers.get("last-modified")
        return None if told is None else parsedate_to_datetime(told)


async def read_within(
    request: Ask, url: str, conditions: tuple[tuple[str, str], ...] = ()
) -> Within:
    """GET ``url``, relative to the base, as the caller of ``request``."""
    path, _, query = url.partition("?")
    state = {name: value for name, value in request.scope["state"].items() if name in _KEPT_STATE}
    scope = {
        **request.scope,
        "method": "GET",
        "path": f"{PREFIX}/{unquote(path)}",
        "raw_path": f"{PREFIX}/{path}".encode(),
        "query_string": query.encode(),
        "headers": [
            *[pair for pair in request.scope["headers"] if pair[0] in _KEPT_HEADERS],
            *[_header(name, value) for name, value in conditions],
            _ACCEPT,
        ],
        "state": state,
        "path_params": {},
    }
    sent: list[Mapping[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Mapping[str, Any]) -> None:
        sent.append(message)

    await request.app(cast("Any", scope), cast("Any", receive), cast("Any", send))
    start = next(message for message in sent if message["type"] == "http.response.start")
    body = b"".join(
        message.get("body", b"") for message in sent if message["type"] == "http.response.body"
    )
    headers = {name.decode().lower(): value.decode("latin-1") for name, value in start["headers"]}
    return Within(start["status"], headers, body)


def _header(name: str, value: str) -> tuple[bytes, bytes]:
    """A Bundle tells times as instants, HTTP has a form of its own."""
    if name == "if-modified-since":
        with suppress(ValueError, OverflowError):
            value = format_datetime(datetime.fromisoformat(value).astimezone(UTC), usegmt=True)
    return name.encode(), value.encode("latin-1", "replace")
