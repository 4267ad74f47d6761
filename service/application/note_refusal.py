"""How is it noted that somebody asked for what was refused? Without a word of what was sent."""

from typing import TypeVar

from service.application.ports import Undone
from service.application.service import Call, Service
from service.domain.problem import NotFound, Problem

P = TypeVar("P", bound=Problem)


async def refused(
    service: Service, call: Call, action: str, problem: P, patient: str | None = None
) -> P:
    """``problem``, which the trail tells of from now on; raise what comes back."""
    await service.records.audit(call.entry(action, outcome_of(problem), patient))
    problem.noted = True
    return problem


def outcome_of(problem: Problem) -> str:
    """The stable word for it in the trail."""
    return "not_found" if isinstance(problem, NotFound) else type(problem).__name__


def is_noted(problem: BaseException | None) -> bool:
    """Whether the trail tells of it, or of what it came from."""
    while problem is not None:
        if isinstance(problem, Undone) or getattr(problem, "noted", False):
            return True
        problem = problem.__cause__
    return False
