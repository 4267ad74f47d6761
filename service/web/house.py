"""What do the handlers work with?"""

from collections.abc import Awaitable, Callable, Mapping
from typing import Any, Protocol

from litestar import Request
from msgspec import Struct, field

from service.application.service import Service
from service.domain.record import Principal, Refusal
from service.fhir.site import Site
from service.web.running import Running
from service.web.security_refusals import Refusals

Authenticate = Callable[[str], Awaitable[Principal | Refusal]]
"""Gives whose an API key is, or why it opens nothing."""


class Verifier(Protocol):
    """Says whose an access token is; raises Unavailable where it cannot be checked now.
    ``warnings``: what those who run the service should know of the keys it checks with."""

    async def verify(self, token: str) -> Principal | Refusal: ...
    def warnings(self) -> tuple[str, ...]: ...


class House(Struct, frozen=True, kw_only=True):
    """Composed once at start. ``check_writable`` raises Unavailable; ``anyone`` is who calls
    when keys are switched off, else None; ``tokens``: None where no issuer is trusted;
    ``smart``: the SMART configuration as it is sent, empty where no issuer is trusted;
    ``own``: the houses of organisations that have a rule book of their own."""

    service: Service
    site: Site
    authenticate: Authenticate
    check_writable: Callable[[], Awaitable[None]]
    anyone: Principal | None = None
    body_seconds: float = 30.0
    tokens: Verifier | None = None
    smart: Mapping[str, Any] = field(default_factory=dict)
    own: Mapping[str, "House"] = field(default_factory=dict)
    refusals: Refusals = field(default_factory=Refusals)
    running: Running = field(default_factory=Running)


Ask = Request[Any, Any, Any]


def house_of(request: Ask) -> House:
    """The house of the caller's organisation, once it is known who calls."""
    house: House = request.scope["state"].get("house") or request.app.state.house
    return house


def settle(request: Ask, org: str) -> None:
    """From now on this request is answered by the rule book of ``org``."""
    house: House = request.app.state.house
    if org in house.own:
        request.scope["state"]["house"] = house.own[org]
