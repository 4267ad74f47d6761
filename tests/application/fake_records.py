"""What does the record do, told in memory? A small real implementation of the ``Records`` port."""

from datetime import datetime

from msgspec.structs import replace

from service.application.ports import (
    AuditEntry,
    Family,
    Joined,
    KeptPlan,
    KeptScreen,
    Standing,
    StandingsAsked,
)
from service.application.turns import Turn, pointed, turns_of
from service.domain.problem import (
    NotFound,
    Unavailable,
)
from service.domain.record import (
    Page,
    PatientRecord,
    PlanEventKind,
    Principal,
    ScreenRecord,
    ScreenStatus,
)
from service.domain.score import EarlierScore
from service.domain.value import Identifier
from tests.application.fake_writes import FakeWrites
from tests.application.tables import page_of


class FakeRecords(FakeWrites):
    """The whole port: what is read, besides what is written."""

    async def audit(self, entry: AuditEntry) -> None:
        with self._writing(entry):
            self.entries.append(entry)

    async def lapse(
        self, principal: Principal, plan: str, at: datetime, request_id: str = ""
    ) -> KeptPlan:
        entry = AuditEntry("plan.lapse", principal, request_id, "ok", None, plan)
        with self._writing(entry):
            if (principal.org, plan) not in self.plans:
                raise NotFound("No such plan.")
        kept = self.kept_plan(principal.org, plan)
        if kept.is_current and PlanEventKind.LAPSED not in {event.kind for event in kept.events}:
            self.happened(principal, plan, PlanEventKind.LAPSED, at=at)
            self.entries.append(replace(entry, patient=kept.plan.patient_id))
        return self.kept_plan(principal.org, plan)

    async def screen(self, org: str, screen: str, version: int | None = None) -> KeptScreen | None:
        for each in reversed(self.screens.get((org, screen), [])):
            if version in (None, each.record.version):
                return self.kept(org, each)
        return None

    async def screen_of_source(self, org: str, source: str) -> KeptScreen | None:
        for (of, _), versions in self.screens.items():
            if of == org and versions[0].record.content.source_id == source:
                return self.kept(org, versions[-1])
        return None

    async def plan(self, org: str, plan: str) -> KeptPlan | None:
        return self.kept_plan(org, plan) if (org, plan) in self.plans else None

    async def current_plan(self, org: str, patient: str) -> KeptPlan | None:
        found = self.patients.get((org, patient))
        return self.kept_plan(org, found.current_plan) if found and found.current_plan else None

    async def patient(self, org: str, patient: str) -> PatientRecord | None:
        return self.patients.get((org, patient))

    async def earlier_scores(
        self, org: str, identifier: Identifier, before: datetime, but: str
    ) -> tuple[EarlierScore, ...]:
        if self.torn:
            raise Unavailable("The record cannot be read.")
        known = await self.find_patient(org, identifier.system, identifier.value)
        return tuple(
            EarlierScore(each.record.content.observed_at, score)
            for each in (self.versions_of(org, known.id) if known else ())
            if each.record.status != ScreenStatus.WITHDRAWN
            and each.record.content.observed_at < before
            and each.record.id != but
            for score in each.tests
        )

    async def find_patient(self, org: str, system: str, value: str) -> PatientRecord | None:
        known = self.known.get((org, system, value))
        return None if known is None else self.root(org, known)

    async def screens_of(
        self, org: str, patient: str, limit: int, after: str | None
    ) -> Page[ScreenRecord]:
        found = self.versions_of(org, self.root(org, patient).id)
        return page_of([each.record for each in found], limit, after)

    async def plans_of(
        self, org: str, patient: str, limit: int, after: str | None
    ) -> Page[KeptPlan]:
        root = self.root(org, patient).id
        kept = [
            self.kept_plan(org, plan.id)
            for (of, _), plan in self.plans.items()
            if of == org and self.root(org, plan.patient_id).id == root
        ]
        kept.sort(key=lambda each: (each.plan.valid_from, each.plan.id), reverse=True)
        return page_of(kept, limit, after)

    async def screens_since(
        self, org: str, since: datetime, limit: int, after: str | None
    ) -> Page[ScreenRecord]:
        latest = [versions[-1].record for (of, _), versions in self.screens.items() if of == org]
        found = [record for record in latest if record.recorded_at >= since]
        found.sort(key=lambda record: (record.recorded_at, record.id))
        return page_of(found, limit, after)

    async def standings(
        self, org: str, patient: str, asked: StandingsAsked
    ) -> tuple[Standing, ...]:
        limit, earlier = asked.limit, asked.earlier
        told = pointed(
            turns_of(self.streams.get((org, patient), ())),
            self.patients[org, patient].current_plan if (org, patient) in self.patients else None,
        )
        turns = list(told[::-1])
        return tuple(
            [
                Standing(
                    self.patients[org, patient],
                    turn.rev,
                    turn.at,
                    self.stood(org, turn),
                    tuple(self.stood(org, one) for one in before(turns[place:]))[:earlier],
                    turn.followed_by,
                    await self.family(org, patient),
                )
                for place, turn in enumerate(turns[:limit])
            ]
        )

    async def family(self, org: str, patient: str) -> Family | None:
        if (org, patient) not in self.patients:
            return None
        found = [
            Joined(one.id, self.clock())
            for (of, _), one in self.patients.items()
            if of == org and one.merged_into == patient
        ]
        into = self.patients[org, patient].merged_into
        return Family(patient, tuple(found), into, self.clock() if into else None)


def before(turns: list[Turn]) -> list[Turn]:
    """The last turn of each plan that stood before the first of ``turns``, newest first."""
    newest = {turn.plan: turn for turn in turns[::-1] if turn.plan != turns[0].plan}
    return [turn for turn in turns if newest.get(turn.plan) is turn]
