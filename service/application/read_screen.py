"""How is a recorded screen read back?"""

from datetime import datetime

from service.application.answer import answer_now
from service.application.note_refusal import refused
from service.application.ports import KeptScreen
from service.application.search_records import noted
from service.application.service import Call, Service
from service.domain.problem import NotFound
from service.domain.record import Answer, Page, ScreenRecord


async def kept_screen(
    service: Service,
    call: Call,
    screen_id: str,
    version: int | None = None,
    action: str = "screen.read",
) -> KeptScreen:
    """The stored screen. Raises NotFound, and audits that too, as what was to be done."""
    kept = await service.records.screen(call.principal.org, screen_id, version)
    if kept is None:
        raise await refused(service, call, action, NotFound("No such screen."))
    return kept


async def read_screen(
    service: Service, call: Call, screen_id: str, version: int | None = None
) -> Answer:
    """The screen as recorded, never assessed anew, its plan in its state of this moment."""
    kept = await kept_screen(service, call, screen_id, version)
    await service.records.audit(
        call.entry("screen.read", "ok", kept.record.patient_id, kept.record.id)
    )
    return answer_now(kept, service.clock())


async def screens_since(
    service: Service, call: Call, since: datetime, limit: int, after: str | None
) -> Page[ScreenRecord]:
    """Screens recorded at or after ``since``, oldest first: the feed for catching up. Noted for
    each patient whose screen is shown."""
    page = await service.records.screens_since(call.principal.org, since, limit, after)
    await noted(service, call, "screen.list", [one.patient_id for one in page.items])
    return page
