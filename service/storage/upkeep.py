"""What does the store do by itself while it is open? It seals the audit, and lapses what is due."""

import asyncio
from contextlib import suppress

from service.storage.seal import seal_now, seal_regularly
from service.storage.sweep import sweep_regularly
from service.storage.watch import Watch
from service.storage.writer import Writer


class Upkeep:
    def __init__(self, writer: Writer, watch: Watch) -> None:
        self._writer = writer
        self._watch = watch
        self._tasks: list[asyncio.Task[None]] = []

    async def start(self) -> None:
        await seal_now(self._writer)  # entries that a crash left unsealed
        create = asyncio.get_running_loop().create_task
        self._tasks = [
            create(seal_regularly(self._writer), name="seals"),
            create(sweep_regularly(self._writer, self._watch), name="sweeper"),
        ]

    async def stop(self) -> None:
        """What was written up to now is sealed."""
        if not self._tasks:
            return
        for task in self._tasks:
            task.cancel()
            with suppress(asyncio.CancelledError):
                await task
        self._tasks = []
        await seal_now(self._writer)
