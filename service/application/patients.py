"""How are patients found, read, listed and merged?"""

from service.application.answer import plan_now
from service.application.note_refusal import refused
from service.application.ports import Merge
from service.application.service import Call, Service
from service.domain.plan import Plan
from service.domain.problem import Fault, NotFound, Refused
from service.domain.record import Page, PatientRecord, ScreenRecord


async def read_patient(
    service: Service, call: Call, patient: str, action: str = "patient.read"
) -> PatientRecord:
    """The patient; a merged one still carries ``merged_into``. Raises NotFound. Noted as what
    was to be done."""
    found = await service.records.patient(call.principal.org, patient)
    if found is None:
        raise await refused(service, call, action, NotFound("No such patient."))
    await service.records.audit(call.entry(action, "ok", found.id))
    return found


async def find_patient(service: Service, call: Call, system: str, value: str) -> PatientRecord:
    """The patient known by a business identifier. Raises NotFound."""
    found = await service.records.find_patient(call.principal.org, system, value)
    if found is None:
        problem = NotFound("No patient is known by that identifier.")
        raise await refused(service, call, "patient.find", problem)
    await service.records.audit(call.entry("patient.find", "ok", found.id))
    return found


async def merge_patients(service: Service, call: Call, patient: str, into: str) -> PatientRecord:
    """``patient`` is the same person as ``into``; gives the one that stays."""
    if patient == into:
        fault = Fault("/into", "merge.self", "Name another patient than the one in the address.")
        raise Refused("A patient cannot be merged into itself.", (fault,))
    for one in (patient, into):
        # what was sent for an id may be anything, and is not to stand in the trail
        if await service.records.patient(call.principal.org, one) is None:
            raise await refused(service, call, "patient.merge", NotFound("No such patient."))
    return await service.records.merge(Merge(call.principal, call.request_id, patient, into))


async def screens_of(
    service: Service, call: Call, patient: PatientRecord, limit: int, after: str | None
) -> Page[ScreenRecord]:
    """The screens of a patient whose reading is noted, newest observed first."""
    return await service.records.screens_of(call.principal.org, patient.id, limit, after)


async def plans_of(
    service: Service, call: Call, patient: PatientRecord, limit: int, after: str | None
) -> Page[Plan]:
    """The plans of a patient whose reading is noted, newest observed first, each in its state of
    this moment."""
    page = await service.records.plans_of(call.principal.org, patient.id, limit, after)
    now = service.clock()
    return Page(tuple(plan_now(kept, now) for kept in page.items), page.next)
