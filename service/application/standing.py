"""Where does a patient stand, and where did the patient stand after each event?

What is told of a patient as a whole, whichever plan it comes from, follows from this: goals,
flags, the screen that is due.
"""

from service.application.answer import plan_now
from service.application.ports import Standing, StandingsAsked, Stood
from service.application.service import Call, Service
from service.domain.plan import PlanState
from service.domain.record import PlanEventKind

LISTED = 100
"""How many standings a list holds at most."""
LOOKED_BACK = 50
"""How many plans before the one that stands are looked at for what was told of them."""


async def looked_up(
    service: Service,
    call: Call,
    patient: str,
    limit: int,
    earlier: int,
    held: Stood | None = None,
) -> tuple[Standing, ...]:
    """Where the patient stands and stood, newest first, for whoever notes the reading; empty
    where nothing is known. That the time of a plan ran out is written down here, if nobody did so
    before."""
    org, asked = call.principal.org, StandingsAsked(limit, earlier, held)
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
