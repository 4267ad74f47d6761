"""How do many callers share one transaction, and learn of it only when it is on disk?

One task writes. A batch is what queued while the batch before was being committed. It decides
and inserts on the loop, commits in a thread, and only then lets its callers go.
"""

import asyncio
import logging
import sqlite3
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

from service.application.ports import Clock, NewId
from service.domain.problem import Conflict, Unavailable
from service.storage.batch import Batch
from service.storage.chain import Head
from service.storage.times import to_micros
from service.storage.watch import Unwatched, Watch

T = TypeVar("T")
Finish = Callable[[], Any]
Decide = Callable[[Batch], Finish]
"""Works on the batch; what it gives is called after the commit and makes the answer."""

_LOG = logging.getLogger("stanchion.storage")
_LARGEST_BATCH = 128
_LONGEST_QUEUE = 2048
_BUSY_WAIT_MS = 2000
_RETRY_AFTER_S = 2

# What the machine did, not what the caller sent: every caller of the batch hears of it.
_OF_THE_MACHINE = {
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_LOCKED,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_CORRUPT,
    sqlite3.SQLITE_NOTADB,
    sqlite3.SQLITE_NOMEM,
}


class _Waiting:
    """A caller's write and where the outcome goes."""

    def __init__(self, decide: Decide, outcome: "asyncio.Future[Any]") -> None:
        self.decide = decide
        self.outcome = outcome

    def fail(self, error: BaseException) -> None:
        if not self.outcome.done():
            self.outcome.set_exception(error)

    def finish(self, finish: Finish) -> None:
        if self.outcome.done():
            return  # the caller went away; the write stands
        try:
            self.outcome.set_result(finish())
        except Exception as error:  # noqa: BLE001 - whatever it is belongs to the caller
            self.outcome.set_exception(error)


_Done = list[tuple[_Waiting, Finish]]
_Work = Callable[[list[_Waiting], int], tuple[_Done, dict[str, Head]]]


class Writer:
    """``last``: the time of the newest row, which no batch is dated before."""

    def __init__(
        self,
        connection: sqlite3.Connection,
        clock: Clock,
        new_id: NewId,
        last: int,
        watch: Watch | None = None,
    ) -> None:
        self._watch = watch or Unwatched()
        self._connection = connection
        self._clock = clock
        self._new_id = new_id
        self._last = last
        self._heads: dict[str, Head] = {}
        self._queue: list[_Waiting] = []
        self._arrived = asyncio.Event()
        self._open = True
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="commit")
        self._task: asyncio.Task[None] | None = None

    @property
    def queued(self) -> int:
        """Writes that wait."""
        return len(self._queue)

    def start(self) -> None:
        self._task = asyncio.get_running_loop().create_task(self._run(), name="writer")

    async def submit(self, decide: Callable[[Batch], Callable[[], T]]) -> T:
        """Write in the next batch; comes back when it is on disk. Raises Unavailable."""
        if not self._open or self._task is None:
            raise Unavailable("The service is starting or stopping.", _RETRY_AFTER_S)
        if len(self._queue) >= _LONGEST_QUEUE:
            raise Unavailable("Too many writes are waiting: try again soon.", 1)
        outcome: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        self._queue.append(_Waiting(decide, outcome))
        self._arrived.set()
        answer: T = await outcome
        return answer

    async def stop(self) -> None:
        """Take nothing more, and write what waits."""
        self._open = False
        self._arrived.set()
        if self._task is not None:
            await self._task

    def close(self) -> None:
        """After ``stop``, and after every reader: the last connection tidies the file."""
        self._thread.shutdown()
        self._connection.close()

    async def _run(self) -> None:
        while self._open or self._queue:
            await self._arrived.wait()
            self._arrived.clear()
            while self._queue:
                waiting = self._queue[:_LARGEST_BATCH]
                del self._queue[:_LARGEST_BATCH]
                await self._write(waiting)

    async def _write(self, waiting: list[_Waiting]) -> None:
        try:
            done = await self._transaction(self._together, waiting)
        except Exception as error:  # noqa: BLE001 - every waiter has to hear of it
            done = await self._one_by_one(waiting, error)
        for waiter, finish in done:
            waiter.finish(finish)

    async def _one_by_one(self, waiting: list[_Waiting], error: Exception) -> _Done:
        """A batch failed. Where a single write is to blame, that caller alone hears of it."""
        if not _is_of_the_machine(error):
            try:
                return await self._transaction(self._apart, waiting)
            except Exception as again:  # noqa: BLE001 - every waiter has to hear of it
                error = again
        _LOG.error("A batch of %d writes was not kept: %s", len(waiting), _named(error))
        for waiter in waiting:
            waiter.fail(_told(error))
        return []

    async def _transaction(
        self,
        work: _Work,
        waiting: list[_Waiting],
    ) -> _Done:
        await self._begin()
        at = max(to_micros(self._clock()), self._last + 1)
        try:
            done, heads = work(waiting, at)
            began = time.perf_counter()
            await self._in_thread(self._connection.execute, "COMMIT")
        except BaseException:
            if self._connection.in_transaction:
                self._connection.execute("ROLLBACK")
            raise
        self._heads, self._last = heads, at
        self._watch.committed(len(done), time.perf_counter() - began)
        return done

    async def _begin(self) -> None:
        """On the loop without waiting; patiently, in the thread, where another holds the lock."""
        try:
            self._connection.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as error:
            if not _is_of_the_machine(error):
                raise
            await self._in_thread(self._begin_patiently)

    def _begin_patiently(self) -> None:
        self._connection.execute(f"PRAGMA busy_timeout = {_BUSY_WAIT_MS}")
        try:
            self._connection.execute("BEGIN IMMEDIATE")
        finally:
            self._connection.execute("PRAGMA busy_timeout = 0")

    def _together(self, waiting: list[_Waiting], at: int) -> tuple[_Done, dict[str, Head]]:
        batch = Batch(self._connection, self._heads, at, self._new_id)
        done = [(waiter, waiter.decide(batch)) for waiter in waiting]
        batch.flush()
        return done, batch.heads

    def _apart(self, waiting: list[_Waiting], at: int) -> tuple[_Done, dict[str, Head]]:
        done: _Done = []
        heads = self._heads
        for waiter in waiting:
            batch = Batch(self._connection, heads, at, self._new_id)
            self._connection.execute("SAVEPOINT single")
            try:
                finish = waiter.decide(batch)
                batch.flush()
            except Exception as error:
                if _is_of_the_machine(error):
                    raise
                self._connection.execute("ROLLBACK TO single")
                waiter.fail(_told(error))
            else:
                heads = batch.heads
                done.append((waiter, finish))
            self._connection.execute("RELEASE single")
        return done, heads

    async def _in_thread(self, work: Callable[..., Any], *arguments: Any) -> Any:
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._thread, work, *arguments)


def _is_of_the_machine(error: BaseException) -> bool:
    code = getattr(error, "sqlite_errorcode", None)
    return code is not None and code & 0xFF in _OF_THE_MACHINE


def _told(error: Exception) -> Exception:
    """What a caller hears: never the text of the database, which may quote a value."""
    if _is_of_the_machine(error):
        return Unavailable("The record cannot be written now; nothing was kept.", _RETRY_AFTER_S)
    if isinstance(error, sqlite3.IntegrityError):
        return Conflict("Another record stands in the way; nothing was kept.")
    return error


def _named(error: Exception) -> str:
    return getattr(error, "sqlite_errorname", type(error).__name__)
