"""Where does a patient stand, and where did the patient stand after each event?

What is told of a patient as a whole, whichever plan it comes from, follows from this: goals,
flags, the screen that is due.
"""

from service.application.answer import plan_now
from service.application.note_refusal import refused
from service.application.ports import Standing, StandingsAsked, Stood
from service.application.service import Call, Service
from service.domain.plan import PlanState
from service.domain.problem import NotFound
from service.domain.record import PlanEventKind

__all__ = [
    "LISTED",
    "LOOKED_BACK",
    "Standing",
    "looked_up",
    "standing_at",
    "standing_now",
    "standings",
]

LISTED = 100
"""How many standings a list holds at most."""
LOOKED_BACK = 50
"""How many plans before the one that stands are looked at for what was told of them."""


async def standing_now(
    service: Service, call: Call, patient: str, earlier: int = LOOKED_BACK
) -> Standing:
    """Where the patient stands at this moment. Raises NotFound."""
    return (await standings(service, call, patient, 1, earlier))[0]


async def standing_at(
    service: Service, call: Call, patient: str, rev: int, earlier: int = LOOKED_BACK
) -> Standing:
    """Where the patient stood after event ``rev``. Raises NotFound where there is none."""
    org = call.principal.org
    found = await service.records.standings(org, patient, StandingsAsked(1, earlier, rev))
    if not found or found[0].rev != rev:
        raise await refused(service, call, "standing.read", NotFound("No such version."))
    await service.records.audit(call.entry("standing.read", "ok", found[0].patient.id))
    return found[0]


async def standings(
    service: Service, call: Call, patient: str, limit: int = LISTED, earlier: int = LOOKED_BACK
) -> tuple[Standing, ...]:
    """Where the patient stands and stood, newest first. Raises NotFound where nothing is known."""
    found = await looked_up(service, call, patient, limit, earlier)
    if not found:
        raise await refused(service, call, "standing.read", NotFound("No such patient."))
    await service.records.audit(call.entry("standing.read", "ok", found[0].patient.id))
    return found


async def looked_up(
    service: Service,
    call: Call,
    patient: str,
    limit: int,
    earlier: int,
    held: Stood | None = None,
) -> tuple[Standing, ...]:
    """The same for whoever notes the reading; empty where nothing is known. That the time of a
    plan ran out is written down here, if nobody did so before."""
    org, asked = call.principal.org, StandingsAsked(limit, earlier, None, held)
    found = await service.records.standings(org, patient, asked)
    if found and _ran_out(service, found[0]):
        plan = found[0].plan.plan.id
        await service.records.lapse(call.principal, plan, service.clock(), call.request_id)
        found = await service.records.standings(org, patient, asked)
    return found


def _ran_out(service: Service, newest: Standing) -> bool:
    """Whether the time of the plan that stands ran out and nobody wrote it down yet."""
    written = any(event.kind == PlanEventKind.LAPSED for event in newest.plan.events)
    return not written and plan_now(newest.plan, service.clock()).state == PlanState.LAPSED
