"""Is the process alive, started, and able to keep what it is sent?"""

import time

from litestar.response import Response
from msgspec import Struct

from service.domain.problem import Fault, Unavailable
from service.web import paging, reply
from service.web.health_checks import WORTH, Finding, Standing, raising
from service.web.house import Ask, House, house_of
from service.web.negotiate import Form, form_of

TRUST_SECONDS = 1.0
RETRY_SECONDS = 5


class Health(Struct, frozen=True, omit_defaults=True):
    """``checks``: how each stands that was asked, by its name."""

    status: str
    checks: dict[str, Finding] = {}


class Readiness:
    """Remembers for a second that all was well, so that asking often costs the store nothing."""

    def __init__(self) -> None:
        self._checked_at: float | None = None
        self._found: dict[str, Finding] = {}

    async def check(self, house: House, *, starting: bool = False) -> dict[str, Finding]:
        """How every check stands. Raises Unavailable, with those that fail."""
        if house.running.phase.draining:
            raise Unavailable("The service is ending.", RETRY_SECONDS)
        if house.running.phase.in_doubt:
            self._checked_at, house.running.phase.in_doubt = None, False
        now = time.monotonic()
        if starting or self._checked_at is None or now - self._checked_at >= TRUST_SECONDS:
            self._checked_at = None
            found = await _ask(house, starting=starting)
            refuse_failing(found)
            if starting:
                return found
            self._checked_at, self._found = now, found
        return self._found


async def _ask(house: House, *, starting: bool) -> dict[str, Finding]:
    checks = (raising("database", house.check_writable), *house.running.checks)
    found = {check.name: await check.ask() for check in checks if check.at_start or not starting}
    for name, finding in found.items():
        house.running.metrics.checked(name, WORTH[finding.status])
    return found


def refuse_failing(found: dict[str, Finding]) -> None:
    """Raises Unavailable."""
    faults = tuple(
        Fault("", f"health.{name}", finding.text)
        for name, finding in found.items()
        if finding.status == Standing.FAIL
    )
    if faults:
        names = ", ".join(fault.rule.partition(".")[2] for fault in faults)
        raise Unavailable(f"The service is not ready: {names}.", RETRY_SECONDS, faults)


async def live(request: Ask) -> Response[bytes]:
    """Asks nothing: an answer alone says that the process turns."""
    return _good(request, "alive")


async def ready(request: Ask) -> Response[bytes]:
    found = await request.app.state.readiness.check(house_of(request))
    return _good(request, "ready", found)


async def startup(request: Ask) -> Response[bytes]:
    if not request.app.state.started:
        raise Unavailable("The service is still starting.")
    found = await request.app.state.readiness.check(house_of(request), starting=True)
    return _good(request, "started", found)


def _good(request: Ask, status: str, found: dict[str, Finding] | None = None) -> Response[bytes]:
    form_of(request.headers.get("accept"), (Form.NATIVE,))
    paging.only(request)
    return reply.native(request, Health(status, found or {}))
