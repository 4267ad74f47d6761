"""How is the record read from PostgreSQL, by several at once?"""

import asyncio
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from typing import Any, TypeVar

import psycopg

from service.domain.problem import Unavailable
from service.storage.postgres.connection import ReadConnection, connected
from service.storage.reader import Reader

T = TypeVar("T")

AT_ONCE = 4
"""Readings at once: each has a thread and a connection of its own."""


class PostgresReader(Reader):
    """Every read runs in a thread; each sees one state of the record."""

    def __init__(self, address: str) -> None:
        self._address = address
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
        except psycopg.OperationalError as error:
            raise Unavailable("The record cannot be read now.") from error

    def _read(self, read: Callable[[Any], T]) -> T:
        try:
            return _in_one_state(self._connection(), read)
        except psycopg.OperationalError:
            # the server went away since the last reading, or in the middle of this one
            self._lost()
            return _in_one_state(self._connection(), read)

    def _connection(self) -> ReadConnection:
        known: ReadConnection | None = getattr(self._own, "connection", None)
        if known is None or known.raw.closed:
            known = ReadConnection(connected(self._address))
            self._own.connection = known
            self._all.append(known)
        return known

    def _lost(self) -> None:
        known: ReadConnection | None = getattr(self._own, "connection", None)
        if known is not None:
            self._own.connection = None
            self._all.remove(known)
            with suppress(psycopg.Error):
                known.close()


def _in_one_state(connection: ReadConnection, read: Callable[[Any], T]) -> T:
    connection.begin()
    try:
        return read(connection)
    finally:
        if not connection.raw.closed:
            connection.raw.execute("ROLLBACK")
