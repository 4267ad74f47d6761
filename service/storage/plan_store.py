"""How is a plan read, and how does the one that stands change?"""

from collections.abc import Callable
from datetime import datetime

from service.application.plan_ports import Ending, Overruling
from service.application.ports import AuditEntry, KeptPlan
from service.domain.problem import NotFound
from service.domain.record import Principal
from service.storage import deeds, reads
from service.storage.batch import Batch
from service.storage.change_plan import end, lapse, overrule
from service.storage.reader import Reader
from service.storage.watch import Watch
from service.storage.writer import Writer


class PlanStore:
    """Implements what ``application.ports.Records`` asks of plans alone."""

    _reader: Reader
    _writer: Writer
    _watch: Watch

    async def plan(self, org: str, plan: str) -> KeptPlan | None:
        return await self._reader.one(lambda found: reads.read_plan(found, org, plan))

    async def current_plan(self, org: str, patient: str) -> KeptPlan | None:
        return await self._reader.one(lambda found: reads.current_plan(found, org, patient))

    async def overrule(self, overruling: Overruling) -> KeptPlan:
        by, plan = overruling.principal, overruling.plan
        entry = AuditEntry("plan.overrule", by, overruling.request_id, "", None, plan)
        return await self._changed(entry, plan, lambda batch: overrule(batch, overruling))

    async def end(self, ending: Ending) -> KeptPlan:
        entry = AuditEntry("plan.lapse", ending.principal, ending.request_id, "", None, ending.plan)
        return await self._changed(entry, ending.plan, lambda batch: end(batch, ending))

    async def lapse(
        self, principal: Principal, plan: str, at: datetime, request_id: str = ""
    ) -> KeptPlan:
        entry = AuditEntry("plan.lapse", principal, request_id, "", None, plan)
        return await self._changed(
            entry, plan, lambda batch: lapse(batch, principal, plan, at, request_id)
        )

    async def _changed(
        self, entry: AuditEntry, plan: str, change: Callable[[Batch], bool]
    ) -> KeptPlan:
        """The plan after ``change``, which gives whether the plan lapsed by it."""
        org = entry.principal.org
        lapsed = await self._writer.submit(
            lambda batch: deeds.audited(batch, entry, lambda here: deeds.giving(change(here))), org
        )
        self._watch.lapsed(int(lapsed))
        kept = await self.plan(org, plan)
        if kept is None:
            raise NotFound("No such plan.")
        return kept
