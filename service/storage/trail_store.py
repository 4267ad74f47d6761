"""How is the audit trail read while the service serves? Each stretch in the reader's thread."""

from service.application.trail_ports import Noted, Stretch, TrailLook
from service.storage import trail
from service.storage.reader import Reader


class TrailStore:
    """Implements ``application.trail_ports.Trail`` for the store."""

    _reader: Reader

    async def trail_stretch(self, org: str, look: TrailLook) -> Stretch:
        return await self._reader.page(lambda found: trail.stretch_of(found, org, look))

    async def trail_entry(self, org: str, chain: int, seq: int) -> Noted | None:
        return await self._reader.one(lambda found: trail.entry_at(found, org, chain, seq))

    async def same_patient(self, org: str, patient: str) -> tuple[str, ...]:
        return await self._reader.one(lambda found: trail.same_patient(found, org, patient))
