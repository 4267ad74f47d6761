"""How much may be asked at once, and of whom is it too much?

413  a body over its limit        414, 431  an address or a head over theirs
429  a credential over its rate or its number at once
503  the service over its number at once        504  no answer in time
"""

import math
from typing import Any

from litestar.types import Receive, ReceiveMessage
from msgspec import Struct

from service.domain.problem import Unavailable
from service.web.limits_rate import OFF, Rates
from service.web.refusals import HeadTooLong, TooLarge, TooMany, UrlTooLong

MIB = 1024 * 1024
FHIR_PATH = "/fhir/"
_AROUND_HEADER = len(": \r\n")
NEVER_REFUSED = ("/health/", "/metrics")


class Limits(Struct, frozen=True, kw_only=True):
    """Bytes, seconds and numbers; a number or a time of 0 is no limit."""

    rate: str = OFF
    credential_concurrency: int = 0
    concurrency: int = 0
    connections: int = 0
    body_bytes: int = MIB
    fhir_body_bytes: int = 4 * MIB
    url_bytes: int = 8192
    head_bytes: int = 32_768
    head_seconds: float = 10.0
    request_seconds: float = 0.0

    def body_of(self, path: str) -> int:
        return self.fhir_body_bytes if path.startswith(FHIR_PATH) else self.body_bytes


class Turnstile:
    """Counts who is inside. Every ``enter`` is followed by one ``leave``."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self._rates = Rates(limits.rate)
        self._inside = 0
        self._of: dict[str, int] = {}

    @property
    def inside(self) -> int:
        return self._inside

    def enter(self, path: str) -> None:
        """A request begins. Raises Unavailable; health and metrics are always let in."""
        most = self.limits.concurrency
        if 0 < most <= self._inside and not path.startswith(NEVER_REFUSED):
            raise Unavailable("Too many requests are running: try again soon.", 1)
        self._inside += 1

    def admit(self, state: dict[str, Any], credential: str) -> None:
        """It is known whose request it is. Raises TooMany."""
        wait = self._rates.wait_of(credential)
        if wait is not None:
            raise TooMany(
                f"This credential may send {self.limits.rate.replace(';', ' and ')}.",
                max(1, math.ceil(wait)),
            )
        running, most = self._of.get(credential, 0), self.limits.credential_concurrency
        if 0 < most <= running:
            raise TooMany(f"This credential may have {most} requests running at once.", 1)
        self._of[credential] = running + 1
        state["counted"] = credential

    def leave(self, state: dict[str, Any]) -> None:
        self._inside -= 1
        credential = state.pop("counted", None)
        if credential is None:
            return
        left = self._of[credential] - 1
        if left:
            self._of[credential] = left
        else:
            del self._of[credential]


def refuse_head(limits: Limits, scope: Any) -> None:
    """Raises UrlTooLong, HeadTooLong."""
    length = len(scope.get("raw_path") or b"") + len(scope["query_string"])
    if length > limits.url_bytes:
        raise UrlTooLong(
            f"An address may have {limits.url_bytes} bytes: FHIR searches may be sent by POST to"
            " _search."
        )
    size = 0
    for name, value in scope["headers"]:
        size += len(name) + len(value) + _AROUND_HEADER
    if size > limits.head_bytes:
        raise HeadTooLong(f"All headers together may have {limits.head_bytes} bytes.")


def counted(receive: Receive, scope: Any, most: int) -> Receive:
    """``receive``, which raises TooLarge once more than ``most`` bytes are announced or came."""
    told = next((value for name, value in scope["headers"] if name == b"content-length"), b"0")
    announced = int(told) if told.isdigit() else 0
    came = 0

    async def receive_counted() -> ReceiveMessage:
        nonlocal came
        refuse_size(announced, most)
        message = await receive()
        if message["type"] == "http.request":
            came += len(message.get("body", b""))
            refuse_size(came, most)
        return message

    return receive_counted


def refuse_size(size: int, most: int) -> None:
    if size > most:
        raise TooLarge(f"A body may have {_spelt(most)} at most.")


def _spelt(size: int) -> str:
    return f"{size // MIB} MiB" if size % MIB == 0 else f"{size} bytes"
