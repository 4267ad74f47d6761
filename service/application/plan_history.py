"""How did a plan stand after each of its events?"""

from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from service.application.answer import plan_now
from service.application.ports import KeptPlan
from service.domain.lifecycle import as_told
from service.domain.plan import Plan, PlanState
from service.domain.record import PlanEvent, PlanEventKind


class PlanVersion(Struct, frozen=True):
    """The plan as it stood, and the events up to then."""

    plan: Plan
    events: tuple[PlanEvent, ...]


def plan_versions(kept: KeptPlan, now: datetime) -> tuple[PlanVersion, ...]:
    """Every version, newest first. The newest is as the plan stands ``now``."""
    newest = plan_now(kept, now)
    earlier = [
        PlanVersion(_then(kept.plan, events), events)
        for events in (kept.events[:count] for count in range(newest.version - 1, 0, -1))
    ]
    return (PlanVersion(newest, kept.events), *earlier)


def _then(plan: Plan, events: tuple[PlanEvent, ...]) -> Plan:
    return replace(as_told(plan, events), state=_state(events), version=len(events))


def _state(events: tuple[PlanEvent, ...]) -> PlanState:
    kinds = [event.kind for event in events]
    if PlanEventKind.WITHDRAWN in kinds:
        return PlanState.WITHDRAWN
    if kinds[-1] == PlanEventKind.SUPERSEDED:
        return PlanState.SUPERSEDED
    return PlanState.LAPSED if PlanEventKind.LAPSED in kinds else PlanState.CURRENT
