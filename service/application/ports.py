"""What do the use cases need from outside?

Every call names the organisation; an implementation never lets one see another's rows.
"""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Protocol

from msgspec import Struct

from service.application.plan_ports import Ending, Overruling
from service.domain.plan import Plan
from service.domain.problem import Problem
from service.domain.profile import Profile
from service.domain.record import Page, PatientRecord, PlanEvent, Principal, ScreenRecord
from service.domain.score import EarlierScore, TestScore
from service.domain.screen import Screen
from service.domain.value import Identifier

Clock = Callable[[], datetime]
"""Gives the time now, timezone-aware UTC."""

NewId = Callable[[], str]
"""Gives a new time-ordered id (UUIDv7, 36 characters), never smaller than the one before."""


class Assessment(Struct, frozen=True):
    """What the rules made of a screen. ``plan`` has its ids set except the patient's."""

    profile: Profile
    tests: tuple[TestScore, ...]
    plan: Plan
    features: bytes


class AuditEntry(Struct, frozen=True):
    """Who did what to which patient's data. ``target`` is an opaque id, never a value."""

    action: str
    principal: Principal
    request_id: str
    outcome: str
    patient: str | None = None
    target: str | None = None


class Once(Struct, frozen=True):
    """An idempotency claim: the caller's key and the digest of the decoded body."""

    operation: str
    key: str
    digest: str


class NewScreen(Struct, frozen=True):
    """A screen to keep with its plan, its events and its audit entry, in one transaction."""

    principal: Principal
    request_id: str
    screen_id: str
    content: Screen
    assessment: Assessment
    once: Once | None


class Correction(Struct, frozen=True):
    """A new version of a screen. ``expected_version`` is what If-Match named."""

    principal: Principal
    request_id: str
    screen_id: str
    expected_version: int
    reason: str
    content: Screen
    assessment: Assessment


class Withdrawal(Struct, frozen=True):
    """A screen entered in error: kept, marked, the current plan found anew."""

    principal: Principal
    request_id: str
    screen_id: str
    expected_version: int | None
    reason: str


Write = NewScreen | Correction | Withdrawal


class Undone(Exception):
    """Several writes were to be done together, and none was. ``problems``: the place of a write
    among them → what stood in its way."""

    def __init__(self, problems: Mapping[int, Problem]) -> None:
        super().__init__("Nothing was kept.")
        self.problems = problems


class Merge(Struct, frozen=True):
    """``patient`` is the same person as ``into``, which takes over."""

    principal: Principal
    request_id: str
    patient: str
    into: str


class KeptPlan(Struct, frozen=True):
    """A stored plan with its events in order; ``is_current``: the patient's pointer names it.

    ``plan`` has patient id, replaces and ids filled; its state and version are as created and
    are worked out for a moment in time by ``domain.lifecycle``.
    """

    plan: Plan
    events: tuple[PlanEvent, ...]
    is_current: bool


class KeptScreen(Struct, frozen=True):
    """A stored screen version with what the rules made of it then, and its plan.

    ``replayed``: the idempotency key had been used with this very body before.
    """

    record: ScreenRecord
    profile: Profile
    tests: tuple[TestScore, ...]
    plan: KeptPlan
    replayed: bool = False


class Joined(Struct, frozen=True):
    """A patient's record that was found to be of the same person, and when."""

    patient: str
    at: datetime


class Family(Struct, frozen=True):
    """The records that are one patient with this one: those it took over, oldest first, and the
    one that took it over."""

    patient: str
    replaces: tuple[Joined, ...] = ()
    replaced_by: str | None = None
    replaced_at: datetime | None = None


class Stood(Struct, frozen=True):
    """A plan that stands or stood for a patient, its events up to the moment in question, with
    the screen version it rests on and what the rules made of that."""

    plan: KeptPlan
    screen: ScreenRecord
    profile: Profile
    tests: tuple[TestScore, ...]


class Standing(Struct, frozen=True):
    """Where a patient stood after event ``rev`` of theirs, which happened ``at``.

    ``stood``: the plan that stood; where none did any more, the last one that had, with
    ``is_current`` false. ``earlier``: the plans before it, newest first, as far as asked for.
    ``followed_by``: the screen whose plan takes over with the event after this one. ``family``:
    who is one patient with this one, as known now.
    """

    patient: PatientRecord
    rev: int
    at: datetime
    stood: Stood
    earlier: tuple[Stood, ...] = ()
    followed_by: str | None = None
    family: Family | None = None

    @property
    def plan(self) -> KeptPlan:
        return self.stood.plan

    @property
    def screen(self) -> ScreenRecord:
        return self.stood.screen


class StandingsAsked(Struct, frozen=True):
    """How many standings, newest first, each with how many ``earlier`` plans. ``held``: a plan
    that was read already, so that it is not read again."""

    limit: int
    earlier: int
    held: Stood | None = None


class Records(Protocol):
    """The durable record. Each write is on disk when it returns, or raises and kept nothing.

    Writes raise Unavailable (busy, full, locked), KeyReused, Conflict (source_id taken by
    another body), NotFound, StaleVersion.
    """

    async def keep(self, new: NewScreen) -> KeptScreen: ...
    async def correct(self, correction: Correction) -> KeptScreen: ...
    async def withdraw(self, withdrawal: Withdrawal) -> KeptScreen: ...
    async def keep_all(self, writes: tuple[Write, ...]) -> tuple[KeptScreen, ...]:
        """All of them in their order or none: then raises Undone, or Unavailable."""

    async def overrule(self, overruling: Overruling) -> KeptPlan: ...
    async def end(self, ending: Ending) -> KeptPlan:
        """Lapsed before its time; one that had lapsed already stays as it is."""

    async def merge(self, merge: Merge) -> PatientRecord: ...
    async def audit(self, entry: AuditEntry) -> None: ...
    async def lapse(
        self, principal: Principal, plan: str, at: datetime, request_id: str = ""
    ) -> KeptPlan: ...

    async def screen(
        self, org: str, screen: str, version: int | None = None
    ) -> KeptScreen | None: ...
    async def screen_of_source(self, org: str, source: str) -> KeptScreen | None: ...
    async def plan(self, org: str, plan: str) -> KeptPlan | None: ...
    async def current_plan(self, org: str, patient: str) -> KeptPlan | None: ...
    async def patient(self, org: str, patient: str) -> PatientRecord | None: ...
    async def earlier_scores(
        self, org: str, identifier: Identifier, before: datetime, but: str
    ) -> tuple[EarlierScore, ...]: ...
    async def find_patient(self, org: str, system: str, value: str) -> PatientRecord | None: ...
    async def screens_of(
        self, org: str, patient: str, limit: int, after: str | None
    ) -> Page[ScreenRecord]: ...
    async def plans_of(
        self, org: str, patient: str, limit: int, after: str | None
    ) -> Page[KeptPlan]: ...
    async def screens_since(
        self, org: str, since: datetime, limit: int, after: str | None
    ) -> Page[ScreenRecord]: ...
    async def standings(
        self, org: str, patient: str, asked: StandingsAsked
    ) -> tuple[Standing, ...]: ...
    async def family(self, org: str, patient: str) -> Family | None: ...
