"""What lies in the record that is told in memory, and which plan of a patient leads in it?"""

from collections.abc import Sequence
from datetime import datetime
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace

from service.application.ports import (
    AuditEntry,
    Clock,
    Correction,
    KeptPlan,
    KeptScreen,
    NewId,
    NewScreen,
    Stood,
)
from service.application.turns import Happened, Turn
from service.domain.overruling import set_aside
from service.domain.plan import Plan
from service.domain.problem import Conflict, Fault, KeyReused, NotFound, StaleVersion
from service.domain.profile import Profile
from service.domain.record import (
    Overruled,
    Page,
    PatientRecord,
    PlanEvent,
    PlanEventKind,
    Principal,
    ScreenRecord,
    ScreenStatus,
)
from service.domain.score import TestScore
from service.domain.subject import Subject

T = TypeVar("T")


class Version(Struct, frozen=True):
    """One version of a screen, with the id of its plan."""

    record: ScreenRecord
    profile: Profile
    tests: tuple[TestScore, ...]
    plan: str


def page_of(items: Sequence[T], limit: int, after: str | None) -> Page[T]:
    """The cursor is the place in the list."""
    begin = int(after or 0)
    end = begin + limit
    return Page(tuple(items[begin:end]), str(end) if end < len(items) else None)


class Tables:
    """Everything by organisation and id."""

    def __init__(self, clock: Clock, new_id: NewId) -> None:
        self.entries: list[AuditEntry] = []
        self.screens: dict[tuple[str, str], list[Version]] = {}
        self.plans: dict[tuple[str, str], Plan] = {}
        self.events: dict[tuple[str, str], list[PlanEvent]] = {}
        self.streams: dict[tuple[str, str], list[Happened]] = {}
        self.patients: dict[tuple[str, str], PatientRecord] = {}
        self.known: dict[tuple[str, str, str], str] = {}
        self.claims: dict[tuple[str, str, str, str], tuple[str, str]] = {}
        self.clock = clock
        self.new_id = new_id

    def one_patient(self, org: str, patient: str) -> PatientRecord:
        if (org, patient) not in self.patients:
            raise NotFound("No such patient.")
        return self.patients[org, patient]

    def root(self, org: str, patient: str) -> PatientRecord:
        """The patient, or the one that took over."""
        found = self.one_patient(org, patient)
        return found if found.merged_into is None else self.root(org, found.merged_into)

    def patient_for(self, org: str, subject: Subject) -> str:
        first = (org, subject.identifier.system, subject.identifier.value)
        if first not in self.known:
            new = PatientRecord(self.new_id(), None)
            self.patients[org, new.id] = new
            self.known[first] = new.id
        return self.root(org, self.known[first]).id

    def standing(self, org: str, screen: str, expected: int | None) -> Version:
        """The newest version, which must be the one expected."""
        if (org, screen) not in self.screens:
            raise NotFound("No such screen.")
        version = self.screens[org, screen][-1]
        if expected not in (None, version.record.version):
            raise StaleVersion(f"The screen stands at version {version.record.version}.")
        return version

    def answered_before(self, new: NewScreen) -> str | None:
        """The screen that the same key, or the same sender's id, brought with the same content."""
        org = new.principal.org
        claimed = self.claims.get(_claim_key(new)) if new.once else None
        if new.once and claimed:
            if claimed[0] != new.once.digest:
                raise KeyReused("This idempotency key came before with another body.")
            return claimed[1]
        for (of, screen), versions in self.screens.items():
            content = versions[-1].record.content
            if of != org or content.source_id is None or content.source_id != new.content.source_id:
                continue
            if content != new.content:
                fault = Fault("/source_id", "source_id.taken", "Belongs to another screen.")
                raise Conflict("A screen with this source_id is stored already.", (fault,))
            return screen
        return None

    def add(
        self, said: NewScreen | Correction, patient: str, version: int, reason: str | None
    ) -> KeptScreen:
        """A version of a screen with its plan, which leads or is superseded at once."""
        by, made = said.principal, said.assessment
        record = ScreenRecord(
            id=said.screen_id,
            version=version,
            status=ScreenStatus.FINAL if reason is None else ScreenStatus.AMENDED,
            patient_id=patient,
            recorded_at=self.clock(),
            recorded_by=by.name,
            content=said.content,
            correction_reason=reason,
        )
        if isinstance(said, NewScreen) and said.once:
            self.claims[_claim_key(said)] = (said.once.digest, said.screen_id)
        stored = Version(record, made.profile, made.tests, made.plan.id)
        self.screens.setdefault((by.org, record.id), []).append(stored)
        plan = replace(made.plan, patient_id=patient)
        self.plans[by.org, plan.id] = plan
        before = self.patients[by.org, patient].current_plan
        leads = self.leader(by.org, patient) == plan.id
        if leads:
            self.plans[by.org, plan.id] = replace(plan, replaces=before)
        self.happened(by, plan.id, PlanEventKind.CREATED)
        leading = self.point(by, patient)
        if not leads:
            self.happened(by, plan.id, PlanEventKind.SUPERSEDED, by_plan=leading)
        return self.kept(by.org, stored)

    def point(self, by: Principal, patient: str) -> str | None:
        """The plan of the newest observed screen that stands leads; the others hear of it."""
        before = self.patients[by.org, patient].current_plan
        leading = self.leader(by.org, patient)
        self.patients[by.org, patient] = PatientRecord(patient, leading)
        if leading == before:
            return leading
        if before and PlanEventKind.WITHDRAWN not in self._kinds(by.org, before):
            self.happened(by, before, PlanEventKind.SUPERSEDED, by_plan=leading)
        if leading and PlanEventKind.SUPERSEDED in self._kinds(by.org, leading):
            self.happened(by, leading, PlanEventKind.RESTORED)
        return leading

    def leader(self, org: str, patient: str) -> str | None:
        standing = [
            each.plan
            for each in self.versions_of(org, patient)
            if each.record.status != ScreenStatus.WITHDRAWN
        ]
        return standing[0] if standing else None

    def happened(
        self,
        by: Principal,
        plan: str,
        kind: PlanEventKind,
        *,
        at: datetime | None = None,
        by_plan: str | None = None,
        reason: str | None = None,
        choice: Overruled | None = None,
        since: datetime | None = None,
    ) -> None:
        events = self.events.setdefault((by.org, plan), [])
        when, version = at or self.clock(), len(events) + 1
        said = self.plans[by.org, plan]
        stream = self.streams.setdefault((by.org, self.root(by.org, said.patient_id).id), [])
        replaces = said.replaces if kind == PlanEventKind.CREATED else None
        left = set_aside(self.events[by.org, replaces]) if replaces else ()
        made = PlanEvent(plan, version, kind, when, by.name, by_plan, reason)
        event = replace(made, overruled=choice, set_aside=left, since=since)
        events.append(event)
        stream.append(
            Happened(len(stream) + 1, when, kind, plan, said.screen_id, by_plan, replaces)
        )

    def versions_of(self, org: str, root: str) -> list[Version]:
        """The newest version of each screen of a person, newest observed first."""
        found = [
            versions[-1]
            for (of, _), versions in self.screens.items()
            if of == org and self.root(org, versions[-1].record.patient_id).id == root
        ]
        found.sort(key=lambda each: (each.record.content.observed_at, each.record.id))
        return found[::-1]

    def kept(self, org: str, version: Version) -> KeptScreen:
        plan = self.kept_plan(org, version.plan)
        return KeptScreen(version.record, version.profile, version.tests, plan)

    def stood(self, org: str, turn: Turn) -> Stood:
        """The plan of a turn with the events it had until then."""
        plan = self.plans[org, turn.plan]
        events = tuple(one for one in self.events[org, turn.plan] if one.at <= turn.at)
        version = next(
            one
            for one in self.screens[org, plan.screen_id]
            if one.record.version == plan.screen_version
        )
        kept = KeptPlan(plan, events, turn.stands)
        return Stood(kept, version.record, version.profile, version.tests)

    def kept_plan(self, org: str, plan: str) -> KeptPlan:
        found = self.plans[org, plan]
        current = self.root(org, found.patient_id).current_plan == plan
        return KeptPlan(found, tuple(self.events[org, plan]), current)

    def _kinds(self, org: str, plan: str) -> set[PlanEventKind]:
        return {event.kind for event in self.events[org, plan]}


def _claim_key(new: NewScreen) -> tuple[str, str, str, str]:
    by, once = new.principal, new.once
    assert once is not None
    return (by.org, by.credential, once.operation, once.key)
