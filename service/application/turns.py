"""Which plan stood for a patient after each of the patient's events?"""

from collections.abc import Iterable
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from service.domain.record import PlanEventKind

_STANDS = (PlanEventKind.RESTORED, PlanEventKind.LAPSED, PlanEventKind.OVERRULED)
"""What happens to none but the plan that stands, from then on or still."""


class Happened(Struct, frozen=True):
    """An event in a patient's own count: what happened to which plan, of which screen."""

    rev: int
    at: datetime
    kind: PlanEventKind
    plan: str
    screen: str
    by_plan: str | None = None
    replaces: str | None = None


class Turn(Struct, frozen=True):
    """After event ``rev``, ``plan`` stood; or, where not ``stands``, was the last that had."""

    rev: int
    at: datetime
    plan: str
    stands: bool
    followed_by: str | None = None


def turns_of(events: Iterable[Happened]) -> tuple[Turn, ...]:
    """The turns of ``events``, which come in the order of their ``rev``.

    Where the first events are missing, the turns begin with the first event that says who stands.
    A plan of another patient counts from the event by which it comes to stand for this one.
    """
    told: list[Turn] = []
    known: set[str] = set()
    last: Turn | None = None
    for event in events:
        known.add(event.plan)
        last = _next(last, event, known)
        if last is not None:
            told.append(last)
    return tuple(told)


def _next(last: Turn | None, event: Happened, known: set[str]) -> Turn | None:
    def turn(plan: str, *, stands: bool = True) -> Turn:
        return Turn(event.rev, event.at, plan, stands)

    stays = None if last is None else replace(last, rev=event.rev, at=event.at, followed_by=None)
    standing = last is not None and last.stands
    if event.kind in _STANDS:
        return turn(event.plan)
    if event.kind == PlanEventKind.CREATED:
        if event.replaces is None:
            first = event.rev == 1 if last is None else not standing
            return turn(event.plan) if first else stays
        return replace(stays or turn(event.replaces), followed_by=event.screen)
    taken_over = event.kind == PlanEventKind.SUPERSEDED and event.by_plan in known
    if last is None or last.plan != event.plan:
        return turn(str(event.by_plan)) if last is None and taken_over else stays
    return turn(str(event.by_plan)) if taken_over else turn(event.plan, stands=False)


def moved_on(turns: tuple[Turn, ...], rev: int, at: datetime) -> tuple[Turn, ...]:
    """``turns`` of a patient whose record was joined to another one's: none stands any more."""
    return (*turns, *[Turn(rev, at, last.plan, stands=False) for last in turns[-1:]])


def pointed(turns: tuple[Turn, ...], current: str | None) -> tuple[Turn, ...]:
    """``turns`` whose last one agrees with the patient's pointer, which is what counts."""
    if not turns or current is None:
        return turns
    last = turns[-1]
    return (*turns[:-1], replace(last, plan=current, stands=True))
