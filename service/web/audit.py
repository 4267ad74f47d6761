"""How is the audit trail followed over HTTP, entry by entry, as plain JSON?"""

from datetime import datetime

from litestar.response import Response
from msgspec import Struct

from service.application.read_trail import trail_feed
from service.application.trail_ports import Noted, TrailLook
from service.web import paging, reply
from service.web.house import Ask, house_of
from service.web.negotiate import Form, form_of
from service.web.security import caller


class AuditLine(Struct, frozen=True):
    """An entry of the audit trail. ``credential`` is empty for a command at the keyboard;
    ``patient`` and ``target`` are opaque ids of the service."""

    id: str
    at: datetime
    action: str
    outcome: str
    credential: str
    name: str
    request_id: str
    patient: str | None
    target: str | None


async def since(request: Ask) -> Response[bytes]:
    call = await caller(request)
    form_of(request.headers.get("accept"), (Form.NATIVE,))
    paging.only(request, "since", "limit", "cursor")
    begin, limit = paging.since_of(request), paging.limit_of(request)
    look = TrailLook(
        newest_first=False,
        limit=limit,
        wanted=lambda _: True,
        low=begin,
        after=paging.cursor_of(request),
    )
    page = await trail_feed(house_of(request).service, call, look)
    link = paging.next_link(request, page.next, since=begin.isoformat())
    return reply.native(request, paging.Listed(tuple(map(_line, page.found)), link))


def _line(noted: Noted) -> AuditLine:
    return AuditLine(
        noted.id,
        noted.at,
        noted.action,
        noted.outcome,
        noted.credential,
        noted.name,
        noted.request_id,
        noted.patient,
        noted.target,
    )
