"""What is kept of a screen and its plan, and what does a caller get back?"""

from datetime import datetime
from enum import StrEnum
from typing import Generic, TypeVar

from msgspec import Struct

from service.domain.plan import Interim, Plan, PlannedMove, RuleBookRef
from service.domain.profile import Profile
from service.domain.reason import Reason
from service.domain.score import TestScore
from service.domain.screen import Screen
from service.domain.value import Clinician

T = TypeVar("T")


class Principal(Struct, frozen=True):
    """Who calls: the organisation everything belongs to, the credential's id and name, and what
    it may do (``domain.scope``): nothing where nothing is said."""

    org: str
    credential: str
    name: str
    scopes: frozenset[str] = frozenset()


class Refusal(Struct, frozen=True):
    """A credential that opens nothing. ``reason``: a stable word; ``detail`` is safe to show.
    ``known``: whose it is or was, where the record says so or its signature proves it."""

    reason: str
    detail: str
    known: Principal | None = None


class ScreenStatus(StrEnum):
    FINAL = "final"
    AMENDED = "amended"
    WITHDRAWN = "withdrawn"


class ScreenRecord(Struct, frozen=True):
    """A kept screen: ``content`` is what was sent; ``version`` counts what was done to it."""

    id: str
    version: int
    status: ScreenStatus
    patient_id: str
    recorded_at: datetime
    recorded_by: str
    content: Screen
    correction_reason: str | None = None


class Answer(Struct, frozen=True):
    """The answer to a screen: the record, the profile, the scored tests and the plan."""

    screen: ScreenRecord
    profile: Profile
    tests: tuple[TestScore, ...]
    plan: Plan
    rule_book: RuleBookRef


class PlanEventKind(StrEnum):
    CREATED = "created"
    SUPERSEDED = "superseded"
    LAPSED = "lapsed"
    WITHDRAWN = "withdrawn"
    RESTORED = "restored"
    OVERRULED = "overruled"


class Overruled(Struct, frozen=True):
    """A clinician's choice for a move. ``answer``: what it comes to. ``back``: it is the computed
    answer again. ``while_lapsed``: what to do instead of the computed interim, where the choice
    is more supported than that. The rest as in ``domain.plan.Overrule``."""

    answer: PlannedMove
    reason: str
    by: Clinician
    rule_book: RuleBookRef
    back: bool = False
    less_supported: bool = False
    against: tuple[Reason, ...] = ()
    while_lapsed: Interim | None = None


class SetAside(Struct, frozen=True):
    """A clinician's choice that stood for a move until a new plan was computed."""

    move_title: str
    method_title: str
    reason: str


class PlanEvent(Struct, frozen=True):
    """Something that happened to a plan; ``version`` counts from 1 (created). ``patient``: for
    whom it counts, which is another one once two records were found to be one patient.
    ``set_aside``: the choices for a plan that this one takes over from. ``since``: of what ended a
    plan early: when it had happened, or was told of the plan before this one."""

    plan: str
    version: int
    kind: PlanEventKind
    at: datetime
    actor: str
    by_plan: str | None = None
    reason: str | None = None
    patient: str | None = None
    overruled: Overruled | None = None
    set_aside: tuple[SetAside, ...] = ()
    since: datetime | None = None

    @property
    def told_at(self) -> datetime:
        """When it was told, which may have been of the plan before, or when it had happened."""
        return self.since or self.at


class PatientRecord(Struct, frozen=True):
    """A patient as the service knows one. ``merged_into`` names the id that took over."""

    id: str
    current_plan: str | None
    merged_into: str | None = None


class Page(Struct, Generic[T], frozen=True):
    """A page of a list; ``next`` is an opaque cursor, null on the last page."""

    items: tuple[T, ...]
    next: str | None = None
