"""How do a few drawn screens become thousands, each of which passes shape and sense?

Drawing is slow, so parts of the drawn ones are dealt anew: the person of one, the orders of
another, the stages of a third. The deal is the same on every run.
"""

from collections.abc import Iterator
from itertools import count, islice

from hypothesis import HealthCheck, given, settings
from msgspec.structs import replace

from service.domain.plan import PlanState
from service.domain.record import Answer
from service.domain.screen import Screen
from service.domain.sense import faults_of
from tests.fhir.answers import (
    BARE,
    FULL,
    HELPED,
    answer_to,
    corrected,
    in_state,
    previewed,
    withdrawn,
)
from tests.strategies import NOW, screens

DRAWN = 40
# Each divides none of the others, so no two parts come around together.
_STEPS = {"orders": 7, "readiness": 11, "tests": 13, "context": 17, "stages": 23}
_STATES = (
    lambda answer: answer,
    corrected,
    withdrawn,
    previewed,
    lambda answer: in_state(answer, PlanState.SUPERSEDED),
    lambda answer: in_state(answer, PlanState.LAPSED),
)


def drawn() -> list[Screen]:
    """The few."""
    found: list[Screen] = []

    @settings(max_examples=DRAWN, suppress_health_check=[HealthCheck.too_slow])
    @given(screens())
    def draw(screen: Screen) -> None:
        found.append(screen)

    draw()
    return [FULL, HELPED, BARE, *found]


def dealt(few: list[Screen], many: int) -> list[Screen]:
    """``many`` screens made of parts of ``few``."""
    return list(islice(_deals(few), many))


def answers(many: list[Screen]) -> Iterator[Answer]:
    """The engine's answer to each, in every state in turn."""
    for number, screen in enumerate(many):
        yield _STATES[number % len(_STATES)](answer_to(screen))


def _deals(few: list[Screen]) -> Iterator[Screen]:
    for number in count():
        turn = number // len(few)
        parts = {name: few[(number + turn * step) % len(few)] for name, step in _STEPS.items()}
        screen = replace(
            few[number % len(few)],
            orders=parts["orders"].orders,
            readiness=parts["readiness"].readiness,
            stages=parts["stages"].stages,
            signs=parts["stages"].signs,
            tests=parts["tests"].tests,
            context=parts["context"].context,
        )
        if not faults_of(screen, NOW):
            yield screen
