"""What happens to every request before and after the router: id, HEAD, headers?"""

import re
import uuid
from collections.abc import Iterable
from typing import cast

from litestar.enums import ScopeType
from litestar.types import ASGIApp, Message, Receive, Scope, Send

_ID = re.compile(rb"[A-Za-z0-9._-]{1,64}")
_SAFE: tuple[tuple[bytes, bytes], ...] = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
_POLICY = (b"content-security-policy", b"default-src 'none'; frame-ancestors 'none'")


class Gate:
    """Stands before the router, so that its refusals pass here too."""

    def __init__(self, router: ASGIApp) -> None:
        self._router = router

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != ScopeType.HTTP:
            await self._router(scope, receive, send)
            return
        request_id = request_id_of(scope["headers"])
        head = scope["method"] == "HEAD"

        async def send_on(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = _complete(list(message["headers"]), request_id)
            elif head and message["type"] == "http.response.body":
                message["body"] = b""
            await send(message)

        method = "GET" if head else scope["method"]
        inner = {**scope, "method": method, "state": {"request_id": request_id}}
        await self._router(cast("Scope", inner), receive, send_on)


def request_id_of(headers: Iterable[tuple[bytes, bytes]]) -> str:
    """The sender's X-Request-Id where it is a plain word, else a new one."""
    sent = next((value for name, value in headers if name == b"x-request-id"), b"")
    return sent.decode() if _ID.fullmatch(sent) else uuid.uuid4().hex


def _complete(headers: list[tuple[bytes, bytes]], request_id: str) -> list[tuple[bytes, bytes]]:
    """GET answers HEAD too, and Allow says so."""
    headers = [
        (name, value.replace(b"GET", b"GET, HEAD") if name.lower() == b"allow" else value)
        for name, value in headers
    ]
    headers.append((b"x-request-id", request_id.encode()))
    headers.extend(_SAFE)
    if all(name.lower() != _POLICY[0] for name, _ in headers):
        headers.append(_POLICY)
    return headers
