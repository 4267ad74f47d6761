"""How are patients found, read, listed and merged?"""

from service.application.answer import plan_now
from service.application.ports import Merge
from service.application.service import Call, Service
from service.domain.plan import Plan
from service.domain.problem import Fault, NotFound, Refused
from service.domain.record import Page, PatientRecord, ScreenRecord


async def read_patient(service: Service, call: Call, patient: str) -> PatientRecord:
    """The patient; a merged one still carries ``merged_into``. Raises NotFound."""
    found = await service.records.patient(call.principal.org, patient)
    if found is None:
        await service.records.audit(call.entry("patient.read", "not_found"))
        raise NotFound("No such patient.")
    await service.records.audit(call.entry("patient.read", "ok", found.id))
    return found


async def find_patient(service: Service, call: Call, system: str, value: str) -> PatientRecord:
    """The patient known by a business identifier. Raises NotFound."""
    found = await service.records.find_patient(call.principal.org, system, value)
    outcome = "ok" if found else "not_found"
    await service.records.audit(call.entry("patient.find", outcome, found.id if found else None))
    if found is None:
        raise NotFound("No patient is known by that identifier.")
    return found


async def merge_patients(service: Service, call: Call, patient: str, into: str) -> PatientRecord:
    """``patient`` is the same person as ``into``; gives the one that stays."""
    if patient == into:
        fault = Fault("/into", "merge.self", "Name another patient than the one in the address.")
        raise Refused("A patient cannot be merged into itself.", (fault,))
    return await service.records.merge(Merge(call.principal, call.request_id, patient, into))


async def screens_of(
    service: Service, call: Call, patient: str, limit: int, after: str | None
) -> Page[ScreenRecord]:
    """The patient's screens, newest observed first."""
    found = await read_patient(service, call, patient)
    return await service.records.screens_of(call.principal.org, found.id, limit, after)


async def plans_of(
    service: Service, call: Call, patient: str, limit: int, after: str | None
) -> Page[Plan]:
    """The patient's plans, newest observed first, each in its state of this moment."""
    found = await read_patient(service, call, patient)
    page = await service.records.plans_of(call.principal.org, found.id, limit, after)
    now = service.clock()
    return Page(tuple(plan_now(kept, now) for kept in page.items), page.next)
