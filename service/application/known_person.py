"""Which person does a patient id of ours stand for, as the last screen has them?"""

from msgspec import Struct

from service.application.service import Call, Service
from service.domain.record import ScreenStatus
from service.domain.subject import Subject
from service.domain.value import Identifier

_LAST_SCREENS = 20


class KnownPerson(Struct, frozen=True):
    """``patient``: the id that stands, after any merge. ``subject``: as last screened; what was
    withdrawn counts only where nothing else was kept."""

    patient: str
    subject: Subject


async def known_person(service: Service, call: Call, patient: str) -> KnownPerson | None:
    """The person behind the id; None where there is none in the organisation. That somebody
    looked is told to the audit trail."""
    org = call.principal.org
    record = await service.records.patient(org, patient)
    while record is not None and record.merged_into is not None:
        record = await service.records.patient(org, record.merged_into)
    if record is None:
        await service.records.audit(call.entry("patient.read", "not_found"))
        return None
    await service.records.audit(call.entry("patient.read", "ok", record.id))
    page = await service.records.screens_of(org, record.id, _LAST_SCREENS, None)
    standing = [one for one in page.items if one.status != ScreenStatus.WITHDRAWN] or page.items
    return KnownPerson(record.id, standing[0].content.patient) if standing else None


async def is_theirs(service: Service, call: Call, patient: str, identifier: Identifier) -> bool:
    """Whether the record knows ``patient`` by ``identifier``."""
    found = await service.records.find_patient(
        call.principal.org, identifier.system, identifier.value
    )
    return found is not None and found.id == patient
