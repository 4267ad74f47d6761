"""Who may read the numbers, and how are they sent?

With a token set, whoever sends it; without one, only this machine, and not through a proxy,
since everybody who comes through one seems to be this machine.
"""

import hmac
import ipaddress
from contextlib import suppress

from litestar.response import Response

from service.domain.problem import NotAllowed, Unavailable
from service.web import paging, reply
from service.web.house import Ask, house_of
from service.web.metrics import MEDIA

_THROUGH_PROXY = ("forwarded", "x-forwarded-for", "x-real-ip", "via")


async def metrics(request: Ask) -> Response[bytes]:
    """Raises NotAllowed."""
    house = house_of(request)
    running = house.running
    _admit(request, running.metrics_token)
    paging.only(request)
    with suppress(Unavailable):
        # the checks set the numbers that belong to them
        await request.app.state.readiness.check(house)
    running.metrics.stands(running=running.turnstile.inside, queue=running.queued())
    return reply.sent(request, running.metrics.text(), MEDIA)


def _admit(request: Ask, token: str | None) -> None:
    if token is not None:
        scheme, _, sent = request.headers.get("authorization", "").partition(" ")
        if scheme.lower() != "bearer" or not hmac.compare_digest(sent.encode(), token.encode()):
            raise NotAllowed("Send Authorization: Bearer <the token set for metrics>.")
        return
    through_proxy = any(name in request.headers for name in _THROUGH_PROXY)
    if through_proxy or request.client is None or not _is_here(request.client.host):
        raise NotAllowed(
            "Metrics are given to this machine only, unless STANCHION_METRICS_TOKEN is set.",
            known=True,
        )


def _is_here(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
