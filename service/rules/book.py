"""What is in a rule book once it is read and frozen?"""

from msgspec import Struct

from service.domain.axis import Axis, Number
from service.domain.citation import Citation, Source
from service.domain.condition import Condition
from service.domain.move import Move
from service.domain.plan import Brakes, RuleBookRef
from service.domain.requirement import Requirement
from service.rules.files import (
    AxisFile,
    ConditionFile,
    ExampleTable,
    Parameter,
    StageFile,
    WordFile,
)
from service.rules.norm_files import NormFile


class HelperRule(Struct, frozen=True):
    """Unless ``unless`` holds: at least so many helpers, or so many more."""

    rule: str
    unless: Requirement | None
    at_least: int
    add: int
    why: str
    citation: Citation


class AccessoryRule(Struct, frozen=True):
    rule: str
    accessory: str
    why: str
    citation: Citation
    unless: Requirement | None
    moves: frozenset[Move]


class StepRule(Struct, frozen=True):
    text: str
    brakes: Brakes
    citation: Citation
    unless: Requirement | None
    moves: frozenset[Move]


class SaidRule(Struct, frozen=True):
    rule: str
    text: str
    citation: Citation
    unless: Requirement | None
    moves: frozenset[Move]


class Method(Struct, frozen=True):
    """One method as declared. ``support``: order of support, low = most active."""

    id: str
    title: str
    plain: str
    support: int
    needs_standing: bool
    assisted: bool
    helpers: int | None
    helpers_why: str
    helpers_citation: Citation
    device_class: str | None
    training: tuple[str, ...]
    requires: tuple[Requirement, ...]
    more_helpers: tuple[HelperRule, ...]
    accessories: tuple[AccessoryRule, ...]
    steps: tuple[StepRule, ...]
    cautions: tuple[SaidRule, ...]
    stop_signs: tuple[SaidRule, ...]
    examples: tuple[ExampleTable, ...]
    citation: Citation


class Option(Struct, frozen=True):
    """A method as it serves one move: its own requirements and helpers plus the move's."""

    method: Method
    requires: tuple[Requirement, ...]
    more_helpers: tuple[HelperRule, ...]


class MoveRules(Struct, frozen=True):
    """A move and the methods that serve it, least supported first; the last never moves."""

    move: Move
    title: str
    plain: str
    only_on_the_floor: bool
    options: tuple[Option, ...]
    cautions: tuple[SaidRule, ...]
    citation: Citation


class GoalRule(Struct, frozen=True):
    id: str
    text: str
    citation: Citation
    unless: Requirement
    stage: str | None
    target_seconds: int | None
    only_if: tuple[Requirement, ...] = ()


class ExerciseRule(Struct, frozen=True):
    id: str
    text: str
    citation: Citation
    when: Requirement
    hands: bool
    seat_percent_low: int | None
    seat_percent_high: int | None
    only_if: tuple[Requirement, ...] = ()


class RuleBook(Struct, frozen=True):
    """The whole rule book, frozen. ``ref.digest`` is SHA-256 over every file's path and bytes."""

    ref: RuleBookRef
    sources: dict[str, Source]
    parameters: dict[str, Parameter]
    axes: dict[Axis, AxisFile]
    conditions: dict[Condition, ConditionFile]
    stages: dict[str, StageFile]
    device_classes: dict[str, WordFile]
    accessories: dict[str, WordFile]
    methods: dict[str, Method]
    moves: dict[Move, MoveRules]
    norms: dict[str, NormFile]
    notices: tuple[SaidRule, ...]
    rescreen: tuple[SaidRule, ...]
    goals: tuple[GoalRule, ...]
    exercises: tuple[ExerciseRule, ...]
    asks: dict[str, str]
    numbers: dict[Number, str]
