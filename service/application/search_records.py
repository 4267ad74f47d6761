"""How is much read at once, each patient's data noted in the audit trail as it is shown?"""

import asyncio
from collections.abc import Iterable

from msgspec.structs import replace

from service.application.answer import plan_now
from service.application.note_refusal import refused
from service.application.ports import KeptPlan, KeptScreen
from service.application.search_ports import FoundPlan, FoundScreen, Look, PlanInList
from service.application.service import Call, Service
from service.domain.plan import PlanState
from service.domain.problem import NotFound, Unavailable
from service.domain.record import PatientRecord, PlanEventKind


async def roots_of(service: Service, call: Call, patients: Iterable[str]) -> tuple[str, ...]:
    """The ids that stay after merges, each once; an id that nobody has is left out."""
    found: dict[str, None] = {}
    for patient in patients:
        record = await service.records.patient(call.principal.org, patient)
        while record is not None and record.merged_into is not None:
            record = await service.records.patient(call.principal.org, record.merged_into)
        if record is not None:
            found[record.id] = None
    return tuple(found)


async def known_by(
    service: Service, call: Call, system: str | None, value: str
) -> tuple[PatientRecord, ...]:
    """Who is known by a business identifier; ``system`` None: whoever issued it."""
    org = call.principal.org
    if system is None:
        return await service.searches.patients_with(org, value)
    found = await service.records.find_patient(org, system, value)
    return () if found is None else (found,)


async def found_screens(service: Service, call: Call, look: Look) -> tuple[FoundScreen, ...]:
    return await service.searches.find_screens(call.principal.org, look)


async def found_plans(service: Service, call: Call, look: Look) -> tuple[PlanInList, ...]:
    """Plans as they stand now: where the time of one ran out, that is written down first."""
    found = await service.searches.find_plans(call.principal.org, look)
    return tuple(await asyncio.gather(*[_as_it_stands(service, call, one) for one in found]))


async def _as_it_stands(service: Service, call: Call, found: PlanInList) -> PlanInList:
    if not isinstance(found, FoundPlan):
        return found
    return replace(found, plan=await settled(service, call, found.plan))


async def plan_behind(service: Service, call: Call, plan: str) -> FoundPlan | None:
    """One plan as it stands now, with its screen."""
    found = await service.searches.plan_and_screen(call.principal.org, plan)
    if found is None:
        return None
    return replace(found, plan=await settled(service, call, found.plan))


async def screen_versions(service: Service, call: Call, screen: str) -> tuple[KeptScreen, ...]:
    """All versions of a screen, oldest first, the plan of the newest as it stands now; none
    where there is no such screen."""
    found = await service.searches.versions_of(call.principal.org, screen)
    if not found:
        return ()
    newest = found[-1]
    return (*found[:-1], replace(newest, plan=await settled(service, call, newest.plan)))


async def settled(service: Service, call: Call, kept: KeptPlan) -> KeptPlan:
    """``kept``, its lapse written down where its time ran out and nobody did so yet. Where that
    cannot be now, its time is over all the same."""
    if any(event.kind == PlanEventKind.LAPSED for event in kept.events):
        return kept
    now = service.clock()
    if plan_now(kept, now).state != PlanState.LAPSED:
        return kept
    try:
        return await service.records.lapse(call.principal, kept.plan.id, now, call.request_id)
    except Unavailable:
        return kept


async def noted(
    service: Service,
    call: Call,
    action: str,
    patients: Iterable[str | None],
    target: str | None = None,
) -> None:
    """One entry for each patient shown; one without a patient where nothing was."""
    shown = tuple(dict.fromkeys(patients)) or (None,)
    entries = [call.entry(action, "ok", patient, target) for patient in shown]
    await asyncio.gather(*[service.records.audit(entry) for entry in entries])


async def missed(service: Service, call: Call, action: str, text: str) -> NotFound:
    """Notes that something was asked for which is not there; raise what comes back."""
    return await refused(service, call, action, NotFound(text))
