"""What does a care plan say, move by move and as a whole?"""

from datetime import datetime
from enum import StrEnum

from msgspec import Struct

from service.domain.citation import Standing
from service.domain.move import Move
from service.domain.reason import AskNext, HelperLoad, Reason, RuledOut, WouldOpen
from service.domain.value import Clinician


class PlanState(StrEnum):
    CURRENT = "current"
    LAPSED = "lapsed"
    SUPERSEDED = "superseded"
    WITHDRAWN = "withdrawn"


class Brakes(StrEnum):
    LOCKED = "locked"
    RELEASED = "released"
    NOT_APPLICABLE = "not_applicable"


class Step(Struct, frozen=True):
    """One step, with the state of the brakes while it is done."""

    text: str
    brakes: Brakes


class Said(Struct, frozen=True):
    """A sentence of the plan with what it rests on."""

    rule: str
    text: str
    source: str
    standing: Standing


class Accessory(Struct, frozen=True):
    accessory: str
    title: str
    reason: str
    rule: str
    source: str
    standing: Standing


class Device(Struct, frozen=True):
    """The class of equipment; ``label`` and safe load when a device at hand was matched."""

    device_class: str
    title: str
    expanded_capacity: bool = False
    label: str | None = None


class PlannedMove(Struct, frozen=True):
    """The answer for one move. ``plain`` is the sentence a tired person reads.

    ``helpers`` is null where nothing is moved: then as the clinician directs.
    ``wait_for`` is filled when the method would be another one if a helper or a device
    were there. ``margin`` lists what only just passes. ``why`` says the reasons in plain words.
    Where ``overrule`` is there, all the rest is what the clinician chose.
    """

    move: Move
    move_title: str
    method: str
    method_title: str
    plain: str
    helpers: int | None
    helper_reasons: tuple[Reason, ...]
    training: tuple[str, ...]
    device: Device | None
    accessories: tuple[Accessory, ...]
    steps: tuple[Step, ...]
    cautions: tuple[Said, ...]
    stop_signs: tuple[Said, ...]
    because: tuple[Reason, ...]
    ruled_out: tuple[RuledOut, ...]
    would_open: WouldOpen | None
    margin: tuple[str, ...]
    why: tuple[str, ...] = ()
    ask_next: AskNext | None = None
    wait_for: tuple[str, ...] = ()
    loads: tuple[HelperLoad, ...] = ()
    overrule: "Overrule | None" = None


class Interim(Struct, frozen=True):
    """What to do for one move while the plan is lapsed: the most supported workable method."""

    move: Move
    method: str
    method_title: str
    helpers: int | None


class Goal(Struct, frozen=True):
    """A next thing to reach: a stage, or seconds of standing."""

    goal: str
    text: str
    source: str
    standing: Standing
    stage: str | None = None
    target_seconds: int | None = None


class Exercise(Struct, frozen=True):
    """How to practise rising. Seat height in cm only where popliteal height was measured."""

    text: str
    hands: bool
    source: str
    standing: Standing
    seat_height_percent_low: int | None = None
    seat_height_percent_high: int | None = None
    seat_height_cm_low: int | None = None
    seat_height_cm_high: int | None = None


class RuleBookRef(Struct, frozen=True):
    """Which rule book gave the answer; ``digest`` is SHA-256 over its files, hex."""

    version: str
    digest: str


class Overrule(Struct, frozen=True):
    """That a clinician chose otherwise for a move. ``computed``: the answer of the rules, whole.

    ``less_supported``: the choice asks more of the person than the rules allow for. ``against``:
    what the rules hold against it. ``rule_book``: the one that was asked about the choice.
    ``at``: UTC. ``recorded_by``: whose credential sent it.
    """

    computed: PlannedMove
    reason: str
    by: Clinician
    at: datetime
    recorded_by: str
    less_supported: bool
    against: tuple[Reason, ...]
    rule_book: RuleBookRef


class Ended(Struct, frozen=True):
    """That something ended a plan before its time. ``at``: when it happened, or else when it was
    told; UTC. ``recorded_by``: whose credential told it."""

    reason: str
    at: datetime
    recorded_by: str


class Plan(Struct, frozen=True):
    """A whole care plan. Times are UTC. ``version`` counts the plan's events.

    ``while_lapsed`` says what to do when the plan has run out and no new screen is there.
    ``ended``: by what, where it ended before its time.
    """

    id: str
    version: int
    state: PlanState
    patient_id: str
    screen_id: str
    screen_version: int
    valid_from: datetime
    valid_until: datetime
    rescreen_due: datetime
    rescreen_when: tuple[Said, ...]
    goals: tuple[Goal, ...]
    exercise: Exercise | None
    conditions: tuple[Said, ...]
    notices: tuple[Said, ...]
    moves: tuple[PlannedMove, ...]
    while_lapsed: tuple[Interim, ...]
    rule_book: RuleBookRef
    replaces: str | None = None
    ended: Ended | None = None


class MoveNow(PlannedMove, frozen=True, kw_only=True):
    """The answer for one move, read by itself, with what its plan is worth at this moment: only
    ``current`` may be followed. ``while_lapsed``: what to do where it is ``lapsed``."""

    plan_id: str
    plan_version: int
    plan_state: PlanState
    valid_until: datetime
    while_lapsed: Interim | None
