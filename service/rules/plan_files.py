"""What may stand in plan.toml?"""

from service.domain.axis import Number
from service.domain.citation import Standing
from service.rules.files import Check, File, Id, SaidTable, Text


class GoalTable(File, frozen=True):
    """A goal is set while ``unless`` does not hold and everything in ``only_if`` does, so that
    none is set against an order; the first such goal of each kind is taken."""

    id: Id
    text: Text
    source: Id
    standing: Standing
    unless: Check
    stage: str | None = None
    target: str | None = None
    only_if: tuple[Check, ...] = ()


class ExerciseTable(File, frozen=True):
    """The first prescription is given whose ``when`` and everything in ``only_if`` holds.
    Percent of popliteal height."""

    id: Id
    text: Text
    source: Id
    standing: Standing
    when: Check
    hands: bool
    seat_percent_low: str | None = None
    seat_percent_high: str | None = None
    only_if: tuple[Check, ...] = ()


class PlanFile(File, frozen=True):
    """plan.toml: what a plan says as a whole. ``asks``: how a field that is no stage is asked
    for, by its name in the screen; ``numbers``: plain words for each number."""

    version: str
    notices: tuple[SaidTable, ...]
    rescreen: tuple[SaidTable, ...]
    goals: tuple[GoalTable, ...]
    exercises: tuple[ExerciseTable, ...]
    asks: dict[str, Text]
    numbers: dict[Number, Text]
