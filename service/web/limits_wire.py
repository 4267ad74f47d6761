"""How long may a client take to say what it wants, and how much before that is too much?

This is where a slow or endless head, an idle connection and an answer that nobody takes are
cut off; what can be read as a request is refused by the gate, in the form the client wants.
"""

import asyncio
from asyncio import TimerHandle, Transport
from typing import Any, ClassVar

import msgspec
from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

from service.web.limits import Limits
from service.web.problems import PROBLEM_JSON, TITLES, Told

_REASONS = {
    400: "Bad Request",
    408: "Request Timeout",
    431: "Request Header Fields Too Large",
    503: "Service Unavailable",
}


class Wire(HttpToolsProtocol):
    """One connection. ``limits`` is set by ``wire``."""

    limits: ClassVar[Limits] = Limits()
    _head_timer: TimerHandle | None = None
    _answer_timer: TimerHandle | None = None
    _head_bytes = 0
    _in_head = True
    _refusal = 400

    def connection_made(self, transport: Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        if 0 < self.limits.connections < len(self.connections):
            self._refuse(503)
            return
        self._time_head()

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop_timers()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        if self.transport.is_closing():
            return
        super().data_received(data)
        if not self._in_head:
            return
        self._head_bytes += len(data)
        # more than the gate would ever accept: nothing of it is kept any longer
        if self._head_bytes > self.limits.head_bytes + self.limits.url_bytes:
            self._refuse(431)

    def on_message_begin(self) -> None:
        super().on_message_begin()
        self._in_head, self._head_bytes = True, 0
        if self._head_timer is None:
            self._time_head()

    def on_headers_complete(self) -> None:
        self._in_head = False
        if self._head_timer is not None:
            self._head_timer.cancel()
            self._head_timer = None
        super().on_headers_complete()

    def pause_writing(self) -> None:
        super().pause_writing()
        seconds = self.limits.request_seconds
        if seconds and self._answer_timer is None:
            self._answer_timer = self.loop.call_later(seconds, self.transport.abort)

    def resume_writing(self) -> None:
        if self._answer_timer is not None:
            self._answer_timer.cancel()
            self._answer_timer = None
        super().resume_writing()

    def send_400_response(self, msg: str) -> None:  # noqa: ARG002 - what is said is ours
        self._refuse(400)

    def _time_head(self) -> None:
        if self.limits.head_seconds:
            self._head_timer = self.loop.call_later(self.limits.head_seconds, self._head_too_slow)

    def _head_too_slow(self) -> None:
        self._head_timer = None
        if self._head_bytes:
            self._refuse(408)
        else:
            self.transport.close()

    def _refuse(self, status: int) -> None:
        """A problem in the native form, since nobody knows yet what the client reads."""
        self._stop_timers()
        body = msgspec.json.encode(Told(TITLES[status], status))
        head = (
            f"HTTP/1.1 {status} {_REASONS[status]}\r\ncontent-type: {PROBLEM_JSON}\r\n"
            f"content-length: {len(body)}\r\ncache-control: no-store\r\n"
            "x-content-type-options: nosniff\r\nconnection: close\r\n\r\n"
        )
        self.transport.write(head.encode() + body)
        self.transport.close()

    def _stop_timers(self) -> None:
        for timer in (self._head_timer, self._answer_timer):
            if timer is not None:
                timer.cancel()
        self._head_timer = self._answer_timer = None


def wire(limits: Limits) -> type[asyncio.Protocol]:
    """The protocol of a server with these limits."""
    return type("LimitedWire", (Wire,), {"limits": limits})


def options(limits: Limits, keep_alive_seconds: int) -> dict[str, Any]:
    """How the server is told."""
    return {"http": wire(limits), "timeout_keep_alive": keep_alive_seconds}
