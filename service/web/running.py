"""What keeps watch over the running service: limits, numbers, the log, and whether it is ending?"""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from typing import Any, Protocol

from msgspec import Struct, field

from service.web.health_checks import Check
from service.web.limits import Limits, Turnstile
from service.web.logs import Write, silent
from service.web.metrics import Metrics


class Traces(Protocol):
    """Spans, where traces are switched on."""

    def request(self, scope: Any) -> AbstractContextManager[Any]: ...


class Phase:
    """``draining``: the service is to end soon, so it is not ready, and still answers.
    ``in_doubt``: something went wrong since it was last found to be ready."""

    draining = False
    in_doubt = False


def _none() -> int:
    return 0


def _unlimited() -> Turnstile:
    return Turnstile(Limits())


class Running(Struct, frozen=True, kw_only=True):
    """One a process, shared by every request. ``metrics_token``: who asks for the numbers must
    send it. ``tls``: clients come by https alone. ``origins``: whose pages may call."""

    turnstile: Turnstile = field(default_factory=_unlimited)
    metrics: Metrics = field(default_factory=Metrics)
    phase: Phase = field(default_factory=Phase)
    write: Write = silent
    checks: tuple[Check, ...] = ()
    metrics_token: str | None = None
    traces: Traces | None = None
    tls: bool = False
    origins: tuple[str, ...] = ()
    queued: Callable[[], int] = _none

    @property
    def limits(self) -> Limits:
        return self.turnstile.limits

    def span_of(self, scope: Any) -> AbstractContextManager[Any]:
        return nullcontext() if self.traces is None else self.traces.request(scope)
