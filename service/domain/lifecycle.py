"""In which state is a plan at a given moment?"""

from collections.abc import Iterable, Set
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from service.domain.overruling import overruled
from service.domain.plan import Ended, Plan, PlanState
from service.domain.record import PlanEvent, PlanEventKind
from service.domain.value import Instant, ShortWord, Words


class PlanEnded(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What ends a plan, as it is sent. ``trigger``: the last word of the rule of one of the plan's
    ``rescreen_when``, such as fall. ``happened_at``: where not given, now. A screen from before
    it makes no plan that holds."""

    trigger: ShortWord
    note: Words | None = None
    happened_at: Instant | None = None


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
    return replace(as_told(plan, events), state=state, version=len(events) + unwritten)


def as_told(plan: Plan, events: tuple[PlanEvent, ...]) -> Plan:
    """``plan`` as computed, with what people told since: their choices, and what ended it."""
    end = ended(events)
    now = overruled(plan, events)
    if end is None:
        return now
    return replace(now, ended=Ended(end.reason or "", end.told_at, end.actor))


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
