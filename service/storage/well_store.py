"""Is the store well, and how much waits in it?"""

from datetime import datetime

from service.storage.first_and_last import touch
from service.storage.reader import Reader
from service.storage.trial import audit_nothing
from service.storage.waiting import outbox_waiting
from service.storage.writer import Writer


class WellStore:
    """What those who run the service ask the store."""

    _reader: Reader
    _writer: Writer

    async def check_writable(self) -> None:
        """Write and commit something that leaves nothing. Raises Unavailable."""
        await self._writer.submit(touch)

    async def check_audit(self) -> None:
        """Write an audit entry that leaves nothing. Raises Unavailable."""
        await self._writer.submit(audit_nothing)

    async def outbox_waiting(self) -> tuple[int, datetime | None]:
        """How many entries are undelivered, and when the oldest was made. Raises Unavailable."""
        return await self._reader.page(outbox_waiting)

    @property
    def queued(self) -> int:
        """Writes that wait."""
        return self._writer.queued
