"""How is the audit trail read? Reading it is an access like any other, and is noted in it."""

from datetime import timedelta

from msgspec import Struct
from msgspec.structs import replace

from service.application.note_refusal import refused
from service.application.service import Call, Service
from service.application.trail_ports import Noted, TrailLook
from service.domain.problem import NotFound

MOST_STRETCHES = 48
"""Stretches that one page looks at, at most; it may then be short, and lead on."""
SETTLED = timedelta(seconds=10)
"""What is younger is not told by a feed: an entry with an earlier time may still come in."""


class TrailPage(Struct, frozen=True):
    """``next``: where the next page begins; None where the trail ended."""

    found: tuple[Noted, ...]
    next: str | None


async def trail_page(service: Service, call: Call, look: TrailLook) -> TrailPage:
    """``look.limit`` entries that are wanted, or fewer. Raises Refused where the cursor is none.

    Whoever asked notes it, with whose entries were asked for.
    """
    found: list[Noted] = []
    after = look.after
    for _ in range(MOST_STRETCHES):
        asked = replace(look, after=after, limit=look.limit - len(found))
        stretch = await service.searches.trail_stretch(call.principal.org, asked)
        found += stretch.found
        after = stretch.next
        if after is None or len(found) == look.limit:
            break
    return TrailPage(tuple(found), after)


async def trail_feed(service: Service, call: Call, look: TrailLook) -> TrailPage:
    """A page for whoever follows the trail, oldest first, of what is settled; noted."""
    high = service.clock() - SETTLED
    page = await trail_page(service, call, replace(look, newest_first=False, high=high))
    await service.records.audit(call.entry("audit.list", "ok"))
    return page


async def trail_entry(service: Service, call: Call, name: str) -> Noted:
    """The entry of an id, ``chain-seq``; noted. Raises NotFound."""
    found = await entry_named(service, call, name)
    if found is None:
        raise await refused(service, call, "auditevent.read", NotFound("No such AuditEvent."))
    await service.records.audit(call.entry("auditevent.read", "ok", found.patient, found.id))
    return found


async def entry_named(service: Service, call: Call, name: str) -> Noted | None:
    """The entry of an id; None where there is none. Whoever asked notes it."""
    chain, _, seq = name.partition("-")
    if not (_is_number(chain) and _is_number(seq)):
        return None
    return await service.searches.trail_entry(call.principal.org, int(chain), int(seq))


_DIGITS = 18


def _is_number(text: str) -> bool:
    """As the service writes it: an id has one spelling."""
    plain = text.isascii() and text.isdigit() and len(text) <= _DIGITS
    return plain and text[0] != "0"
