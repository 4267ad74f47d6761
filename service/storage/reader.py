"""How is the record read, without ever waiting for a write?"""

import asyncio
import sqlite3
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TypeVar

from service.domain.problem import Unavailable
from service.storage.connection import reading

T = TypeVar("T")

_BUSY_WAIT_MS = 2000


class Reader:
    """One thing is read on the loop, which takes less than handing it to a thread; a page in one.

    Each read sees one state of the record from its first row to its last.
    """

    def __init__(self, path: Path) -> None:
        self._quick = reading(path)
        self._patient = reading(path, _BUSY_WAIT_MS)
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="read")

    def close(self) -> None:
        self._thread.shutdown()
        self._quick.close()
        self._patient.close()

    async def one(self, read: Callable[[sqlite3.Connection], T]) -> T:
        try:
            return _in_one_state(self._quick, read)
        except sqlite3.OperationalError:
            return await self.page(read)

    async def page(self, read: Callable[[sqlite3.Connection], T]) -> T:
        """Raises Unavailable where the file cannot be read."""
        loop = asyncio.get_running_loop()
        try:
            return await loop.run_in_executor(self._thread, _in_one_state, self._patient, read)
        except sqlite3.OperationalError as error:
            raise Unavailable("The record cannot be read now.") from error


def _in_one_state(connection: sqlite3.Connection, read: Callable[[sqlite3.Connection], T]) -> T:
    connection.execute("BEGIN")
    try:
        return read(connection)
    finally:
        connection.execute("ROLLBACK")
