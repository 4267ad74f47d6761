"""Which screen does a sender know by an id of its own?"""

from service.application.ports import KeptScreen
from service.application.service import Call, Service


async def screen_of_source(service: Service, call: Call, source: str) -> KeptScreen | None:
    """The latest version of the screen that was sent with this id; None where there is none."""
    kept = await service.records.screen_of_source(call.principal.org, source)
    found = (kept.record.patient_id, kept.record.id) if kept else (None, None)
    await service.records.audit(call.entry("screen.find", "ok" if kept else "not_found", *found))
    return kept
