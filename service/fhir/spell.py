"""From when until when did something hold for a patient, by the plans that stood?"""

from collections.abc import Callable, Iterator
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from service.application.answer import plan_now
from service.application.ports import Standing, Stood
from service.domain.overruling import overruled
from service.domain.plan import Plan, PlanState
from service.domain.record import PlanEventKind

Has = Callable[[Stood], bool]


class Spell(Struct, frozen=True):
    """``stood``: the newest plan it holds in, with what clinicians had chosen by then in the place
    of what was computed; ``now``: that is as the plan stands, or as the last one did that stood.
    ``sound``: that plan's screen was not entered in error. ``until``: null while it holds.

    It follows from that plan and the next, so that it is the same however far back one looks.
    """

    stood: Stood
    now: bool
    sound: bool
    since: datetime
    until: datetime | None


class _Turn(Struct, frozen=True):
    """How a plan stood, and since when: as computed, or after a choice of a clinician."""

    stood: Stood
    since: datetime


def spell_of(standing: Standing, has: Has) -> Spell | None:
    """The last spell; None where it never held as far back as is known."""
    turns = [turn for stood in (standing.stood, *standing.earlier) for turn in _turns(stood)]
    place = next((place for place, turn in enumerate(turns) if has(turn.stood)), None)
    if place is None:
        return None
    until = turns[place - 1].since if place else None
    if until is None and not standing.plan.is_current:
        until = standing.at
    found = turns[place].stood
    return Spell(found, place == 0, not withdrawn(found), _since(turns[place:], has), until)


def withdrawn(stood: Stood) -> bool:
    return any(event.kind == PlanEventKind.WITHDRAWN for event in stood.plan.events)


def state_of(standing: Standing) -> PlanState:
    """The state of the plan in question when it came to stand as it does."""
    return plan_now(standing.plan, standing.at).state


def _turns(stood: Stood) -> Iterator[_Turn]:
    """Newest first. The events stay those of the whole plan."""
    kept = stood.plan
    for place in reversed(range(len(kept.events))):
        if kept.events[place].overruled is not None:
            plan = overruled(kept.plan, kept.events[: place + 1])
            yield _Turn(_with(stood, plan), kept.events[place].at)
    yield _Turn(stood, kept.plan.valid_from)


def _with(stood: Stood, plan: Plan) -> Stood:
    return replace(stood, plan=replace(stood.plan, plan=plan))


def _since(turns: list[_Turn], has: Has) -> datetime:
    """Since when it holds in the first of ``turns`` without a break in that plan."""
    since = turns[0].since
    for turn in turns:
        if turn.stood.plan.plan.id != turns[0].stood.plan.plan.id or not has(turn.stood):
            break
        since = turn.since
    return since
