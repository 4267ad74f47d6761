"""How is a plan read: by its id, or as a patient's current one?"""

from datetime import datetime

from msgspec.structs import astuple

from service.application.answer import plan_now
from service.application.note_reading import note_reading_of_current
from service.application.note_refusal import refused
from service.application.ports import KeptPlan, KeptScreen
from service.application.read_screen import kept_screen
from service.application.service import Call, Service
from service.domain.move import Move
from service.domain.plan import MoveNow, Plan, PlanState
from service.domain.problem import NotFound, Unavailable
from service.domain.record import PatientRecord, PlanEventKind


async def kept_plan(
    service: Service, call: Call, plan_id: str, action: str = "plan.read"
) -> KeptPlan:
    """The stored plan. Raises NotFound, and audits that too, as what was to be done."""
    kept = await service.records.plan(call.principal.org, plan_id)
    if kept is None:
        raise await refused(service, call, action, NotFound("No such plan."))
    return kept


async def read_plan(service: Service, call: Call, plan_id: str) -> Plan:
    """The plan in its state of this moment. Raises NotFound."""
    return await _seen(service, call, await kept_plan(service, call, plan_id))


async def patient_with_plan(service: Service, call: Call, patient_id: str) -> PatientRecord:
    """The patient whose current plan is read next. Raises NotFound."""
    found = await service.records.patient(call.principal.org, patient_id)
    if found is None:
        raise await refused(service, call, "patient.read", NotFound("No such patient."))
    await note_reading_of_current(service, call.entry("patient.read", "ok", found.id))
    return found


async def current_plan(service: Service, call: Call, patient: PatientRecord) -> Plan:
    """The patient's current plan; lapsed is given as lapsed. Raises NotFound where none is."""
    kept = await service.records.current_plan(call.principal.org, patient.id)
    if kept is None:
        problem = NotFound("This patient has no plan: screen first.")
        raise await refused(service, call, "plan.read", problem, patient.id)
    return await _seen(service, call, kept)


async def planned_move(service: Service, call: Call, plan_id: str, move: Move) -> MoveNow:
    """One move of a plan, with what the plan is worth now. Raises NotFound where the plan does not
    answer for it."""
    plan = await read_plan(service, call, plan_id)
    interim = next((one for one in plan.while_lapsed if one.move == move), None)
    for planned in plan.moves:
        if planned.move == move:
            return MoveNow(
                *astuple(planned),
                plan_id=plan.id,
                plan_version=plan.version,
                plan_state=plan.state,
                valid_until=plan.valid_until,
                while_lapsed=interim,
            )
    raise NotFound("This plan does not answer for that move: screen again and ask for it.")


async def screen_behind(service: Service, call: Call, plan: Plan) -> KeptScreen:
    """The screen version a plan rests on."""
    return await kept_screen(service, call, plan.screen_id, plan.screen_version)


async def _seen(service: Service, call: Call, kept: KeptPlan) -> Plan:
    now = service.clock()
    plan = plan_now(kept, now)
    entry = call.entry("plan.read", "ok", plan.patient_id, plan.id)
    if not kept.is_current:
        await service.records.audit(entry)
        return plan
    await note_reading_of_current(service, entry)
    written = any(event.kind == PlanEventKind.LAPSED for event in kept.events)
    if plan.state == PlanState.LAPSED and not written:
        return await _lapsed(service, call, plan, now)
    return plan


async def _lapsed(service: Service, call: Call, plan: Plan, now: datetime) -> Plan:
    """Write down that its time is over. Where that cannot be now, it is over all the same."""
    try:
        written = await service.records.lapse(call.principal, plan.id, now, call.request_id)
        return plan_now(written, now)
    except Unavailable:
        return plan
