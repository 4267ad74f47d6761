"""Which plans do these tests have clinicians overrule? The engine's own, by its own answer to the
choice."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from msgspec.structs import replace

from service.domain.lifecycle import as_of
from service.domain.move import Move
from service.domain.overruling import Decision
from service.domain.plan import Plan, PlannedMove
from service.domain.record import Answer, PlanEvent, PlanEventKind
from service.domain.value import Clinician, Identifier
from service.rules.overrule import methods_for, overrule
from tests.fhir.answers import BOOK, RECORDED_AT

_LATER, _NEXT = timedelta(minutes=40), timedelta(minutes=1)
AT = RECORDED_AT + _LATER
REASON = "Did it with me this morning"
BY = Clinician(identifier=Identifier(system="urn:oid:2.999.9", value="S-77"), role="ward physician")
OTHER = Clinician(identifier=Identifier(system="urn:oid:2.999.9", value="S-78"))
"""Whose role nobody told."""


def created(plan: Plan, at: datetime = RECORDED_AT) -> PlanEvent:
    return PlanEvent(plan.id, 1, PlanEventKind.CREATED, at, "ward key")


def decided(
    answer: Answer, move: Move, method: str, number: int = 2, by: Clinician = BY
) -> PlanEvent:
    """Event ``number`` of the plan as computed: that ``method`` was chosen, so many minutes after
    the first that was."""
    decision = Decision(move=move, method=method, reason=REASON, by=by)
    said = overrule(BOOK, answer.screen.content, answer.profile, answer.plan, decision)
    kind = PlanEventKind.OVERRULED
    at = _at(answer, number)
    return PlanEvent(answer.plan.id, number, kind, at, "ward key", overruled=said)


def ended(answer: Answer, number: int = 2, reason: str = "A fall. Slid from the bed.") -> PlanEvent:
    """The same of what ended it before its time."""
    at = _at(answer, number)
    return PlanEvent(answer.plan.id, number, PlanEventKind.LAPSED, at, "ward key", None, reason)


def _at(answer: Answer, number: int) -> datetime:
    return answer.screen.recorded_at + _LATER + (number - 2) * _NEXT


def after(answer: Answer, *events: PlanEvent, current: bool = True) -> Answer:
    """The answer as it is read right after the last of ``events``."""
    plan = as_of(answer.plan, events, is_current=current, now=events[-1].at)
    return replace(answer, plan=plan)


def others(move: PlannedMove) -> tuple[str, ...]:
    """Every method that serves the move but the one that it has, least supported first."""
    return tuple([one for one in methods_for(BOOK, move.move) if one != move.method])


def every_choice(answer: Answer) -> Iterator[tuple[PlanEvent, ...]]:
    """Events of the plan with one more method chosen for each move in each, until each move has
    had every method that serves it."""
    for place in range(max(len(others(move)) for move in answer.plan.moves)):
        yield choices(answer, place)


def choices(answer: Answer, place: int) -> tuple[PlanEvent, ...]:
    """Events of the plan: for each move that other method was chosen that has this place."""
    told = [created(answer.plan, answer.screen.recorded_at)]
    for move in answer.plan.moves:
        for method in others(move)[place : place + 1]:
            by = OTHER if len(told) % 2 else BY
            told.append(decided(answer, move.move, method, len(told) + 1, by))
    return tuple(told)


def with_all_taken_back(answer: Answer, events: tuple[PlanEvent, ...]) -> tuple[PlanEvent, ...]:
    """``events`` and after them the computed method again for each move that has another."""
    told = list(events)
    for move in after(answer, *events).plan.moves:
        if move.overrule is not None:
            told.append(decided(answer, move.move, move.overrule.computed.method, len(told) + 1))
    return tuple(told)
