"""How are the reads of a search run? Each in the reader's thread, and from one state."""

from service.application.ports import KeptScreen
from service.application.search_ports import FoundPlan, FoundScreen, Look, PlanInList, Told
from service.domain.record import Page, PatientRecord, ScreenRecord
from service.storage import search_plans, search_reads
from service.storage.reader import Reader


class SearchStore:
    """Implements ``application.search_ports.Searches`` for the store."""

    _reader: Reader

    async def find_screens(self, org: str, look: Look) -> tuple[FoundScreen, ...]:
        return await self._reader.page(lambda found: search_reads.find_screens(found, org, look))

    async def find_plans(self, org: str, look: Look) -> tuple[PlanInList, ...]:
        return await self._reader.page(lambda found: search_plans.find_plans(found, org, look))

    async def find_patients(self, org: str, limit: int, after: str | None) -> Page[PatientRecord]:
        return await self._reader.page(
            lambda found: search_reads.find_patients(found, org, limit, after)
        )

    async def versions_of(self, org: str, screen: str) -> tuple[KeptScreen, ...]:
        return await self._reader.one(lambda found: search_reads.versions_of(found, org, screen))

    async def record_of(self, org: str, screen: str, version: int) -> ScreenRecord | None:
        return await self._reader.one(
            lambda found: search_reads.record_of(found, org, screen, version)
        )

    async def plan_and_screen(self, org: str, plan: str) -> FoundPlan | None:
        return await self._reader.one(lambda found: search_plans.plan_and_screen(found, org, plan))

    async def patients_with(self, org: str, value: str) -> tuple[PatientRecord, ...]:
        return await self._reader.one(lambda found: search_reads.patients_with(found, org, value))

    async def told_of(self, org: str, patient: str, limit: int) -> tuple[Told, ...]:
        return await self._reader.page(
            lambda found: search_reads.told_of(found, org, patient, limit)
        )

    async def time_zone(self, org: str) -> str:
        return await self._reader.one(lambda found: search_reads.time_zone(found, org))
