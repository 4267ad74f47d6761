"""What does the record told in memory do when it is written to, and when it is turned away?"""

from collections.abc import Iterator
from contextlib import contextmanager
from copy import deepcopy

from msgspec.structs import replace

from service.application.plan_ports import Ending, Overruling
from service.application.ports import (
    AuditEntry,
    Correction,
    KeptPlan,
    KeptScreen,
    Merge,
    NewScreen,
    Undone,
    Withdrawal,
    Write,
)
from service.domain.lifecycle import as_of
from service.domain.plan import Plan, PlanState
from service.domain.problem import (
    Conflict,
    Problem,
    StaleVersion,
    Unavailable,
)
from service.domain.record import (
    PatientRecord,
    PlanEventKind,
    Principal,
    ScreenStatus,
)
from tests.application.tables import Tables


class FakeWrites(Tables):
    """While ``busy``, every write is turned away; while ``torn``, so are earlier scores."""

    busy = False
    torn = False
    writes = 0

    async def keep(self, new: NewScreen) -> KeptScreen:
        by = new.principal
        entry = AuditEntry("screen.record", by, new.request_id, "ok")
        with self._writing(entry):
            earlier = self.answered_before(new)
        if earlier is not None:
            self.entries.append(replace(entry, outcome="replayed", target=earlier))
            return replace(self.kept(by.org, self.screens[by.org, earlier][0]), replayed=True)
        patient = self.patient_for(by.org, new.content.patient)
        kept = self.add(new, patient, 1, None)
        self.entries.append(replace(entry, patient=patient, target=new.screen_id))
        return kept

    async def correct(self, correction: Correction) -> KeptScreen:
        by, screen = correction.principal, correction.screen_id
        entry = AuditEntry("screen.correct", by, correction.request_id, "ok", None, screen)
        with self._writing(entry):
            before = self.standing(by.org, screen, correction.expected_version).record
            if before.status == ScreenStatus.WITHDRAWN:
                raise Conflict("The screen was withdrawn.")
            if before.content.patient.identifier != correction.content.patient.identifier:
                raise Conflict("The corrected screen names another patient.")
        root = self.root(by.org, before.patient_id).id
        kept = self.add(correction, root, before.version + 1, correction.reason)
        self.entries.append(replace(entry, patient=root))
        return kept

    async def withdraw(self, withdrawal: Withdrawal) -> KeptScreen:
        by, screen, reason = withdrawal.principal, withdrawal.screen_id, withdrawal.reason
        entry = AuditEntry("screen.withdraw", by, withdrawal.request_id, "ok", None, screen)
        with self._writing(entry):
            before = self.standing(by.org, screen, withdrawal.expected_version)
        root = self.root(by.org, before.record.patient_id).id
        if before.record.status != ScreenStatus.WITHDRAWN:
            record = replace(
                before.record,
                version=before.record.version + 1,
                status=ScreenStatus.WITHDRAWN,
                recorded_at=self.clock(),
                recorded_by=by.name,
                correction_reason=reason,
            )
            self.screens[by.org, screen].append(replace(before, record=record))
            self.happened(by, before.plan, PlanEventKind.WITHDRAWN, reason=reason)
            self.point(by, root)
        self.entries.append(replace(entry, patient=root))
        return self.kept(by.org, self.screens[by.org, screen][-1])

    async def keep_all(self, writes: tuple[Write, ...]) -> tuple[KeptScreen, ...]:
        before, told = deepcopy(self.__dict__), len(self.entries)
        done: list[KeptScreen] = []
        for index, write in enumerate(writes):
            try:
                if isinstance(write, NewScreen):
                    done.append(await self.keep(write))
                elif isinstance(write, Correction):
                    done.append(await self.correct(write))
                else:
                    done.append(await self.withdraw(write))
            except Problem as problem:
                refused = self.entries[told:]
                self.__dict__.update(before)
                self.entries.extend(refused)
                raise Undone({index: problem}) from problem
        return tuple(self._again(one) for one in done)

    def _again(self, done: KeptScreen) -> KeptScreen:
        """As it stands after what was done with it in one transaction."""
        record = done.record
        (org,) = {of for of, screen in self.screens if screen == record.id}
        version = self.screens[org, record.id][record.version - 1]
        return replace(self.kept(org, version), replayed=done.replayed)

    async def merge(self, merge: Merge) -> PatientRecord:
        by = merge.principal
        entry = AuditEntry("patient.merge", by, merge.request_id, "ok", merge.patient, merge.into)
        with self._writing(entry):
            gone, stays = self.one_patient(by.org, merge.patient), self.root(by.org, merge.into)
            if gone.merged_into not in (None, stays.id):
                raise Conflict("That patient was merged into another one before.")
            if gone.id == stays.id:
                raise Conflict("They are one patient already.")
        self.patients[by.org, gone.id] = PatientRecord(gone.id, None, stays.id)
        leading = self.point(by, stays.id)
        if gone.current_plan not in (None, leading):
            self.happened(by, str(gone.current_plan), PlanEventKind.SUPERSEDED, by_plan=leading)
        self.entries.append(entry)
        return self.patients[by.org, stays.id]

    async def overrule(self, overruling: Overruling) -> KeptPlan:
        by, plan = overruling.principal, overruling.plan
        entry = AuditEntry("plan.overrule", by, overruling.request_id, "ok", None, plan)
        with self._writing(entry):
            now = self._planned(by, plan)
            if now.state != PlanState.CURRENT:
                raise Conflict("This plan no longer holds.")
            if now.version != overruling.expected_version:
                raise StaleVersion(f"The plan has version {now.version}.")
        self.happened(by, plan, PlanEventKind.OVERRULED, choice=overruling.choice)
        self.entries.append(replace(entry, patient=now.patient_id))
        return self.kept_plan(by.org, plan)

    async def end(self, ending: Ending) -> KeptPlan:
        by, plan = ending.principal, ending.plan
        entry = AuditEntry("plan.lapse", by, ending.request_id, "ok", None, plan)
        with self._writing(entry):
            now = self._planned(by, plan)
            if now.state not in (PlanState.CURRENT, PlanState.LAPSED):
                raise Conflict("This plan no longer holds.")
            if ending.expected_version not in (None, now.version):
                raise StaleVersion(f"The plan has version {now.version}.")
        if PlanEventKind.LAPSED not in self._kinds(by.org, plan):
            reason, since = ending.reason, ending.happened_at
            self.happened(by, plan, PlanEventKind.LAPSED, reason=reason, since=since)
        self.entries.append(replace(entry, patient=now.patient_id))
        return self.kept_plan(by.org, plan)

    def _planned(self, by: Principal, plan: str) -> Plan:
        kept = self.kept_plan(by.org, plan)
        return as_of(kept.plan, kept.events, is_current=kept.is_current, now=self.clock())

    @contextmanager
    def _writing(self, entry: AuditEntry) -> Iterator[None]:
        """A write that is refused is told to the audit trail and changes nothing else."""
        if self.busy:
            raise Unavailable("The record is busy.")
        self.writes += 1
        try:
            yield
        except Problem as problem:
            self.entries.append(replace(entry, outcome=type(problem).__name__))
            raise
