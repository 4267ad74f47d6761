"""How is the record read from PostgreSQL, by several at once?"""

import asyncio
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from typing import Any, TypeVar

import psycopg

from service.domain.problem import Unavailable
from service.storage.postgres.connection import ReadConnection
from service.storage.postgres.door import Door
from service.storage.reader import Reader

T = TypeVar("T")

_RETRY_AFTER_S = 2
AT_ONCE = 4
"""Readings at once: each has a thread and a connection of its own."""


class PostgresReader(Reader):
    """Every read runs in a thread; each sees one state of the record."""

    def __init__(self, address: str) -> None:
        self._door = Door(address)
        self._own = threading.local()
        self._all: list[ReadConnection] = []
        self._threads = ThreadPoolExecutor(AT_ONCE, thread_name_prefix="read")

    def close(self) -> None:
        self._threads.shutdown()
        for connection in self._all:
            with suppress(psycopg.Error):
                connection.close()

    async def one(self, read: Callable[[Any], T]) -> T:
        return await self.page(read)

    async def page(self, read: Callable[[Any], T]) -> T:
        """Raises Unavailable where the server cannot be asked."""
        loop = asyncio.get_running_loop()
        try:
            return await loop.run_in_executor(self._threads, self._read, read)
        except (psycopg.OperationalError, psycopg.InternalError) as error:
            raise Unavailable("The record cannot be read now.", _RETRY_AFTER_S) from error

    def _read(self, read: Callable[[Any], T]) -> T:
        known: ReadConnection | None = getattr(self._own, "connection", None)
        if known is not None:
            try:
                return _in_one_state(known, read)
            except psycopg.OperationalError:
                if not known.raw.closed:
                    raise
                # the server went away since the last reading, or in the middle of this one
                self._own.connection = None
                self._all.remove(known)
        return _in_one_state(self._new(), read)

    def _new(self) -> ReadConnection:
        made = ReadConnection(self._door.connection())
        self._own.connection = made
        self._all.append(made)
        return made


def _in_one_state(connection: ReadConnection, read: Callable[[Any], T]) -> T:
    connection.begin()
    try:
        return read(connection)
    finally:
        if not connection.raw.closed:
            connection.raw.execute("ROLLBACK")
