"""How does a search ask the record for what it may have to show?"""

from datetime import datetime
from enum import StrEnum
from typing import Protocol

from msgspec import Struct

from service.application.ports import KeptPlan, KeptScreen
from service.application.trail_ports import Trail
from service.domain.plan import PlanState
from service.domain.profile import Profile
from service.domain.record import Page, PatientRecord, ScreenRecord, ScreenStatus
from service.domain.score import TestScore
from service.domain.value import Identifier


class By(StrEnum):
    """In which order: by when it was observed, or by when it last changed."""

    OBSERVED = "observed"
    CHANGED = "changed"


class Sieve(Struct, frozen=True, kw_only=True):
    """Which plans need not be read whole: those in none of ``states`` at ``now``, and those whose
    time ends before ``ends_from``."""

    now: datetime
    states: frozenset[PlanState]
    ends_from: datetime | None = None


class Look(Struct, frozen=True, kw_only=True):
    """One stretch of a list. ``patients``: ids that stay after merges; None for all of the
    organisation. ``low`` and ``high`` bound what the list is ordered by, both included.
    ``after``: the cursor of the last one seen. ``sieve``: of plans, None for all. ``glance``: of
    plans, that no more is wanted than what they are searched by, as they stand at that moment."""

    by: By
    newest_first: bool
    limit: int
    patients: tuple[str, ...] | None = None
    low: datetime | None = None
    high: datetime | None = None
    after: str | None = None
    sieve: Sieve | None = None
    glance: datetime | None = None


class Screened(Struct, frozen=True):
    """A version of a screen and what was found by it, without its plan."""

    screen: ScreenRecord
    profile: Profile
    tests: tuple[TestScore, ...]


class FoundScreen(Struct, frozen=True):
    """The versions of a screen, oldest first. By observed a screen is found once; by changed
    once for each of its versions, and ``version`` says for which. ``begin`` is the cursor of the
    place just before it."""

    begin: str
    cursor: str
    version: int
    versions: tuple[Screened, ...]


class FoundPlan(Struct, frozen=True):
    """A plan and the screen version that it rests on. By changed it stands at its last event.
    ``begin`` is the cursor of the place just before it."""

    begin: str
    cursor: str
    plan: KeptPlan
    record: ScreenRecord


class PassedPlan(Struct, frozen=True):
    """The place of a plan that the sieve let through unread, and its time."""

    begin: str
    cursor: str
    id: str
    at: datetime


class SeenPlan(Struct, frozen=True, kw_only=True):
    """What a plan is searched by, its document unread. ``changed_at``: its last event.
    ``ended_early``: its time was over before it ran out."""

    begin: str
    cursor: str
    id: str
    state: PlanState
    valid_from: datetime
    valid_until: datetime
    changed_at: datetime
    ended_early: bool = False


PlanInList = FoundPlan | SeenPlan | PassedPlan


class Told(Struct, frozen=True):
    """That a screen version told of a patient, and by which identifiers, the first one leading."""

    screen: str
    version: int
    at: datetime
    status: ScreenStatus
    identifiers: tuple[Identifier, ...] = ()


class Searches(Trail, Protocol):
    """Reads that give much at once. Each names the organisation and sees no other."""

    async def find_screens(self, org: str, look: Look) -> tuple[FoundScreen, ...]: ...
    async def find_plans(self, org: str, look: Look) -> tuple[PlanInList, ...]:
        """A plan whose time ran out and of which nobody wrote that down is read whole always."""

    async def find_patients(
        self, org: str, limit: int, after: str | None
    ) -> Page[PatientRecord]: ...
    async def versions_of(self, org: str, screen: str) -> tuple[KeptScreen, ...]: ...
    async def record_of(self, org: str, screen: str, version: int) -> ScreenRecord | None: ...
    async def plan_and_screen(self, org: str, plan: str) -> FoundPlan | None: ...
    async def patients_with(self, org: str, value: str) -> tuple[PatientRecord, ...]: ...
    async def told_of(self, org: str, patient: str, limit: int) -> tuple[Told, ...]: ...
    async def time_zone(self, org: str) -> str: ...
