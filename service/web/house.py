"""What do the handlers work with?"""

from collections.abc import Awaitable, Callable
from typing import Any

from litestar import Request
from msgspec import Struct

from service.application.service import Service
from service.domain.record import Principal
from service.fhir.site import Site

Authenticate = Callable[[str], Awaitable[Principal | None]]
"""Gives who an API key belongs to, or None for a key that is unknown, expired or revoked."""


class House(Struct, frozen=True, kw_only=True):
    """Composed once at start. ``check_writable`` raises Unavailable; ``anyone`` is who calls
    when keys are switched off, else None."""

    service: Service
    site: Site
    authenticate: Authenticate
    check_writable: Callable[[], Awaitable[None]]
    anyone: Principal | None = None
    body_seconds: float = 30.0


Ask = Request[Any, Any, Any]


def house_of(request: Ask) -> House:
    house: House = request.app.state.house
    return house
