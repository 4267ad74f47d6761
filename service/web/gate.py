"""What happens to every request before and after the router: id, limits, HEAD, headers, log?"""

import asyncio
import re
import secrets
import time
from collections.abc import Iterable
from typing import Any, cast

from litestar import Request
from litestar.enums import ScopeType
from litestar.types import ASGIApp, Message, Receive, Scope, Send

from service.domain.problem import Problem
from service.web.limits import counted, refuse_head
from service.web.logs import line_of
from service.web.metrics import NO_ROUTE
from service.web.problems import on_problem
from service.web.refusals import TookTooLong
from service.web.running import Running

_ID = re.compile(rb"[A-Za-z0-9._-]{1,64}")
_SAFE: tuple[tuple[bytes, bytes], ...] = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
_POLICY = (b"content-security-policy", b"default-src 'none'; frame-ancestors 'none'")
_UNKEPT = (b"cache-control", b"no-store")
_TLS = (b"strict-transport-security", b"max-age=31536000")
_LIMITED = (413, 414, 429, 431, 503, 504)
_TOO_LATE = (
    "It is not known whether anything was kept. Send it again with the same Idempotency-Key, or"
    " read before you write."
)
GONE = 499
"""What the log says where the client went away before its answer."""


class Gate:
    """Stands before the router, so that its refusals pass here too. ``known``: the names of
    parameters that addresses have."""

    def __init__(
        self, router: ASGIApp, running: Running, known: frozenset[str] = frozenset()
    ) -> None:
        self._router = router
        self._known = known
        self.running = running

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != ScopeType.HTTP:
            await self._router(scope, receive, send)
            return
        began = time.perf_counter()
        state: dict[str, Any] = {"request_id": request_id_of(scope["headers"])}
        method = "GET" if scope["method"] == "HEAD" else scope["method"]
        inner = cast("Scope", {**scope, "method": method, "state": state})
        sending = _Sending(send, state["request_id"], self.running, head=scope["method"] == "HEAD")
        try:
            with self.running.span_of(inner):
                await self._bounded(inner, receive, sending)
                state["status"] = sending.status
        finally:
            self._note(inner, sending, scope["method"], time.perf_counter() - began)

    async def _bounded(self, scope: Scope, receive: Receive, sending: "_Sending") -> None:
        running, path = self.running, scope["path"]
        try:
            running.turnstile.enter(path)
        except Problem as problem:
            await _refuse(scope, receive, sending, problem)
            return
        try:
            refuse_head(running.limits, scope)
            receive = counted(receive, scope, running.limits.body_of(path))
            async with asyncio.timeout(running.limits.request_seconds or None):
                await self._router(scope, receive, sending)
        except TimeoutError:
            if sending.status:
                raise
            await _refuse(scope, receive, sending, TookTooLong(_TOO_LATE))
        except Problem as problem:
            await _refuse(scope, receive, sending, problem)
        finally:
            running.turnstile.leave(cast("Any", scope)["state"])

    def _note(self, scope: Any, sending: "_Sending", method: str, seconds: float) -> None:
        running, status = self.running, sending.status or GONE
        route = getattr(scope.get("route_handler"), "name", None) or NO_ROUTE
        if status in _LIMITED:
            running.metrics.limited(status)
        running.metrics.answered(method, route, status, seconds)
        running.write(line_of({**scope, "method": method}, self._known, status, seconds, route))


class _Sending:
    """Sends on, and remembers the status. ``status`` is 0 until the answer has begun."""

    def __init__(self, send: Send, request_id: str, running: Running, *, head: bool) -> None:
        self._send = send
        self._request_id = request_id
        self._head = head
        self._tls = running.tls
        self.status = 0

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.status = message["status"]
            headers = _complete(list(message["headers"]), self._request_id)
            message["headers"] = [*headers, _TLS] if self._tls else headers
        elif self._head and message["type"] == "http.response.body":
            message["body"] = b""
        await self._send(message)


async def _refuse(scope: Scope, receive: Receive, sending: _Sending, problem: Problem) -> None:
    request: Request[Any, Any, Any] = Request(scope, receive)
    answer = on_problem(request, problem).to_asgi_response(None, request)
    await answer(scope, receive, sending)


def request_id_of(headers: Iterable[tuple[bytes, bytes]]) -> str:
    """The sender's X-Request-Id where it is a plain word, else a new one."""
    for name, value in headers:
        if name == b"x-request-id" and _ID.fullmatch(value):
            return value.decode()
    return secrets.token_hex(16)


def _complete(headers: list[tuple[bytes, bytes]], request_id: str) -> list[tuple[bytes, bytes]]:
    """GET answers HEAD too, and Allow says so."""
    unsaid = {_POLICY[0]: _POLICY, _UNKEPT[0]: _UNKEPT}
    for at, (name, value) in enumerate(headers):
        lower = name.lower()
        unsaid.pop(lower, None)
        if lower == b"allow":
            headers[at] = (name, value.replace(b"GET", b"GET, HEAD"))
    return [*headers, (b"x-request-id", request_id.encode()), *_SAFE, *unsaid.values()]
