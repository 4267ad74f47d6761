"""Is the process alive, started, and able to keep what it is sent?"""

import time

from litestar.response import Response
from msgspec import Struct

from service.domain.problem import Unavailable
from service.web import paging, reply
from service.web.house import Ask, house_of
from service.web.negotiate import Form, form_of

TRUST_SECONDS = 1.0


class Health(Struct, frozen=True):
    status: str


class Readiness:
    """Remembers for a second that the store could be written, so that asking often costs
    the store nothing."""

    def __init__(self) -> None:
        self._checked_at: float | None = None

    async def check(self, request: Ask) -> None:
        """Raises Unavailable."""
        now = time.monotonic()
        if self._checked_at is not None and now - self._checked_at < TRUST_SECONDS:
            return
        self._checked_at = None
        await house_of(request).check_writable()
        self._checked_at = now


async def live(request: Ask) -> Response[bytes]:
    return _good(request, "alive")


async def ready(request: Ask) -> Response[bytes]:
    await request.app.state.readiness.check(request)
    return _good(request, "ready")


async def startup(request: Ask) -> Response[bytes]:
    if not request.app.state.started:
        raise Unavailable("The service is still starting.")
    return _good(request, "started")


def _good(request: Ask, status: str) -> Response[bytes]:
    form_of(request.headers.get("accept"), (Form.NATIVE,))
    paging.only(request)
    return reply.native(request, Health(status))
