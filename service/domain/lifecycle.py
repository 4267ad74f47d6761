"""In which state is a plan at a given moment?"""

from datetime import datetime

from msgspec.structs import replace

from service.domain.plan import Plan, PlanState
from service.domain.record import PlanEvent, PlanEventKind


def as_of(plan: Plan, events: tuple[PlanEvent, ...], *, is_current: bool, now: datetime) -> Plan:
    """``plan`` with the state it has at ``now`` and its number of events as version, the lapse
    counted from the moment the time runs out, though it is written down at the first read after.

    Withdrawn outranks everything; a plan the patient's pointer does not name is superseded;
    one whose time has run out is lapsed, whether or not that was written down yet.
    """
    state = _state(plan, events, is_current=is_current, now=now)
    told = any(event.kind == PlanEventKind.LAPSED for event in events)
    unwritten = state == PlanState.LAPSED and not told
    return replace(plan, state=state, version=len(events) + unwritten)


def _state(
    plan: Plan, events: tuple[PlanEvent, ...], *, is_current: bool, now: datetime
) -> PlanState:
    kinds = {event.kind for event in events}
    if PlanEventKind.WITHDRAWN in kinds:
        return PlanState.WITHDRAWN
    if not is_current:
        return PlanState.SUPERSEDED
    if PlanEventKind.LAPSED in kinds or now >= plan.valid_until:
        return PlanState.LAPSED
    return PlanState.CURRENT
