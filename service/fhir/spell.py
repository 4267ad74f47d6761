"""From when until when did something hold for a patient, by the plans that stood?"""

from collections.abc import Callable
from datetime import datetime

from msgspec import Struct

from service.application.answer import plan_now
from service.application.ports import Standing, Stood
from service.domain.plan import PlanState
from service.domain.record import PlanEventKind

Has = Callable[[Stood], bool]


class Spell(Struct, frozen=True):
    """``stood``: the newest plan it holds in; ``now``: that is the plan that stands, or was the
    last that did. ``sound``: that plan's screen was not entered in error. ``until``: null while it
    holds.

    It follows from that plan and the next, so that it is the same however far back one looks.
    """

    stood: Stood
    now: bool
    sound: bool
    since: datetime
    until: datetime | None


def spell_of(standing: Standing, has: Has) -> Spell | None:
    """The last spell; None where it never held as far back as is known."""
    told = [standing.stood, *standing.earlier]
    place = next((place for place, stood in enumerate(told) if has(stood)), None)
    if place is None:
        return None
    until = _since(told[place - 1]) if place else None
    if until is None and not standing.plan.is_current:
        until = standing.at
    found = told[place]
    return Spell(found, place == 0, not withdrawn(found), _since(found), until)


def withdrawn(stood: Stood) -> bool:
    return any(event.kind == PlanEventKind.WITHDRAWN for event in stood.plan.events)


def state_of(standing: Standing) -> PlanState:
    """The state of the plan in question when it came to stand as it does."""
    return plan_now(standing.plan, standing.at).state


def _since(stood: Stood) -> datetime:
    return stood.plan.plan.valid_from
