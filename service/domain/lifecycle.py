"""In which state is a plan at a given moment?"""

from collections.abc import Iterable, Set
from datetime import datetime

from msgspec.structs import replace

from service.domain.overruling import overruled
from service.domain.plan import Plan, PlanState
from service.domain.record import PlanEvent, PlanEventKind


def as_of(plan: Plan, events: tuple[PlanEvent, ...], *, is_current: bool, now: datetime) -> Plan:
    """``plan`` with the state it has at ``now``, what clinicians chose in the place of what was
    computed, and its number of events as version, the lapse counted from the moment the time
    runs out, though it is written down at the first read after.

    Withdrawn outranks everything; a plan the patient's pointer does not name is superseded;
    one whose time has run out is lapsed, whether or not that was written down yet.
    """
    kinds = {event.kind for event in events}
    state = state_of(kinds, plan.valid_until, is_current=is_current, now=now)
    unwritten = state == PlanState.LAPSED and PlanEventKind.LAPSED not in kinds
    return replace(overruled(plan, events), state=state, version=len(events) + unwritten)


def ended(events: Iterable[PlanEvent]) -> PlanEvent | None:
    """The event by which something ended the plan before its time, where there is one."""
    return next((one for one in events if one.kind == PlanEventKind.LAPSED and one.reason), None)


def state_of(
    kinds: Set[PlanEventKind], valid_until: datetime, *, is_current: bool, now: datetime
) -> PlanState:
    """``kinds``: of the plan's events."""
    if PlanEventKind.WITHDRAWN in kinds:
        return PlanState.WITHDRAWN
    if not is_current:
        return PlanState.SUPERSEDED
    if PlanEventKind.LAPSED in kinds or now >= valid_until:
        return PlanState.LAPSED
    return PlanState.CURRENT
