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
    last that did. ``sound``: it is not only known from screens that were entered in error.
    ``until``: null while it holds."""

    stood: Stood
    now: bool
    sound: bool
    since: datetime
    until: datetime | None


def spell_of(standing: Standing, has: Has) -> Spell | None:
    """The last spell; None where it never held as far back as is known."""
    told = [standing.stood, *standing.earlier]
    place = _newest(told, has)
    if place is None:
        return None
    until = _since(told[place - 1]) if place else None
    if until is None and not standing.plan.is_current:
        until = standing.at
    begun = place
    while begun + 1 < len(told) and (has(told[begun + 1]) or withdrawn(told[begun + 1])):
        begun += 1
    while not has(told[begun]):
        begun -= 1
    return Spell(told[place], place == 0, not withdrawn(told[place]), _since(told[begun]), until)


def _newest(told: list[Stood], has: Has) -> int | None:
    """The place of the newest plan it holds in; one that was withdrawn counts only where it is
    the plan in question, or where no other is left."""
    places = [place for place, stood in enumerate(told) if has(stood)]
    sound = [place for place in places if place == 0 or not withdrawn(told[place])]
    return next(iter([*sound, *places]), None)


def withdrawn(stood: Stood) -> bool:
    return any(event.kind == PlanEventKind.WITHDRAWN for event in stood.plan.events)


def state_of(standing: Standing) -> PlanState:
    """The state of the plan in question when it came to stand as it does."""
    return plan_now(standing.plan, standing.at).state


def _since(stood: Stood) -> datetime:
    return stood.plan.plan.valid_from
