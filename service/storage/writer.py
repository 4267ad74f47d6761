"""How do many callers share one transaction, and learn of it only when it is on disk?

One task writes. A batch is what queued while the batch before was being committed. It decides
and inserts on the loop, commits in a thread, and only then lets its callers go.
"""

import asyncio
import logging
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

from service.application.ports import Clock, NewId
from service.domain.problem import Conflict, Problem, Unavailable
from service.storage.batch import Batch
from service.storage.chain import Head, furthest
from service.storage.engine import Engine, InDoubt, Orgs
from service.storage.times import to_micros
from service.storage.waiter import Finish, Waiting
from service.storage.watch import Unwatched, Watch

T = TypeVar("T")

_LOG = logging.getLogger("stanchion.storage")
_LARGEST_BATCH = 128
_LONGEST_QUEUE = 2048
_RETRY_AFTER_S = 2
_NOT_KEPT = "The record cannot be written now; nothing was kept."


_Done = list[tuple[Waiting, Finish]]
_Worked = tuple[_Done, dict[str, Head], int]
_Work = Callable[[list[Waiting], dict[str, Head], int], tuple[_Done, dict[str, Head]]]


class Writer:
    """``last``: the time of the newest row, which no batch is dated before."""

    def __init__(
        self,
        engine: Engine,
        clock: Clock,
        new_id: NewId,
        last: int,
        watch: Watch | None = None,
    ) -> None:
        self._watch = watch or Unwatched()
        self._engine = engine
        self._clock = clock
        self._new_id = new_id
        self._last = last
        self._heads: dict[str, Head] = {}
        self._queue: list[Waiting] = []
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

    async def submit(self, decide: Callable[[Batch], Callable[[], T]], org: str | None = None) -> T:
        """Write in the next batch; comes back when it is on disk. Raises Unavailable.

        ``org``: the only organisation of which ``decide`` reads and writes; None: of any.
        """
        if not self._open or self._task is None:
            raise Unavailable("The service is starting or stopping.", _RETRY_AFTER_S)
        if len(self._queue) >= _LONGEST_QUEUE:
            raise Unavailable("Too many writes are waiting: try again soon.", 1)
        outcome: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        self._queue.append(Waiting(decide, org, outcome))
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
        self._engine.close()

    async def _run(self) -> None:
        while self._open or self._queue:
            await self._arrived.wait()
            self._arrived.clear()
            while self._queue:
                waiting = self._queue[:_LARGEST_BATCH]
                del self._queue[:_LARGEST_BATCH]
                await self._write(waiting)

    async def _write(self, waiting: list[Waiting]) -> None:
        try:
            done = await self._transaction(self._together, waiting)
        except Exception as error:  # noqa: BLE001 - every waiter has to hear of it
            done = await self._one_by_one(waiting, error)
        for waiter, finish in done:
            waiter.finish(finish)

    async def _one_by_one(self, waiting: list[Waiting], error: Exception) -> _Done:
        """A batch failed. Where a single write is to blame, that caller alone hears of it."""
        if not self._engine.is_of_the_machine(error):
            try:
                return await self._transaction(self._apart, waiting)
            except Exception as again:  # noqa: BLE001 - every waiter has to hear of it
                error = again
        _LOG.error("A batch of %d writes was not kept: %s", len(waiting), _named(error))
        for waiter in waiting:
            waiter.fail(self._told(error))
        return []

    async def _transaction(self, work: _Work, waiting: list[Waiting]) -> _Done:
        orgs = _orgs_of(waiting)
        if self._engine.quick:
            worked, seconds = await self._on_the_loop(work, waiting, orgs)
        else:
            worked, seconds = await self._in_thread(self._whole, work, waiting, orgs)
        done, heads, self._last = worked
        self._heads |= heads
        self._watch.committed(len(done), seconds)
        return done

    async def _on_the_loop(
        self, work: _Work, waiting: list[Waiting], orgs: Orgs
    ) -> tuple[_Worked, float]:
        """Decided and inserted without waiting for anything; only the commit is handed away."""
        if not self._engine.begin_at_once():
            await self._in_thread(self._engine.begin, orgs)
        try:
            worked = self._worked(work, waiting, orgs)
            began = time.perf_counter()
            await self._in_thread(self._engine.commit, worked[1])
        except BaseException:
            self._engine.roll_back()
            raise
        return worked, time.perf_counter() - began

    def _whole(self, work: _Work, waiting: list[Waiting], orgs: Orgs) -> tuple[_Worked, float]:
        """All of it in the thread: each step waits for the database's answer."""
        self._engine.begin(orgs)
        try:
            worked = self._worked(work, waiting, orgs)
            began = time.perf_counter()
            self._engine.commit(worked[1])
        except BaseException:
            self._engine.roll_back()
            raise
        return worked, time.perf_counter() - began

    def _worked(self, work: _Work, waiting: list[Waiting], orgs: Orgs) -> _Worked:
        heads, newest = self._engine.heads(orgs)
        known = self._heads if self._engine.alone else furthest(self._heads, heads)
        at = max(to_micros(self._clock()), self._last + 1, newest + 1)
        done, heads = work(waiting, known, at)
        return done, heads, at

    def _together(
        self, waiting: list[Waiting], heads: dict[str, Head], at: int
    ) -> tuple[_Done, dict[str, Head]]:
        batch = Batch(self._engine.connection, heads, at, self._new_id)
        batch.foresight.look(ask for one in waiting for ask in getattr(one.decide, "asks", ()))
        done = [(waiter, waiter.decide(batch)) for waiter in waiting]
        batch.flush()
        return done, batch.heads

    def _apart(
        self, waiting: list[Waiting], heads: dict[str, Head], at: int
    ) -> tuple[_Done, dict[str, Head]]:
        done: _Done = []
        connection = self._engine.connection
        for waiter in waiting:
            batch = Batch(connection, heads, at, self._new_id)
            connection.execute("SAVEPOINT single")
            try:
                finish = waiter.decide(batch)
                batch.flush()
            except Exception as error:
                if self._engine.is_of_the_machine(error):
                    raise
                connection.execute("ROLLBACK TO single")
                done.append((waiter, _raising(self._told(error))))
            else:
                heads = batch.heads
                done.append((waiter, finish))
            connection.execute("RELEASE single")
        return done, heads

    async def _in_thread(self, work: Callable[..., Any], *arguments: Any) -> Any:
        loop = asyncio.get_running_loop()
        return await loop.run_in_executor(self._thread, work, *arguments)

    def _told(self, error: Exception) -> Exception:
        """What a caller hears: never the text of the database, which may quote a value."""
        if isinstance(error, InDoubt):
            return Unavailable(error.told, _RETRY_AFTER_S)
        if self._engine.is_of_the_machine(error):
            return Unavailable(_NOT_KEPT, _RETRY_AFTER_S)
        if self._engine.is_of_the_rows(error):
            return Conflict("Another record stands in the way; nothing was kept.")
        return error


def _orgs_of(waiting: list[Waiting]) -> Orgs:
    orgs = {waiter.org for waiter in waiting}
    return None if None in orgs else {org for org in orgs if org is not None}


def _raising(error: Exception) -> Finish:
    def finish() -> None:
        raise error

    return finish


def told_of(error: Exception) -> str:
    """What the log says of a failure: our own words, or its kind alone."""
    return error.detail if isinstance(error, Problem) else _named(error)


def _named(error: Exception) -> str:
    return getattr(error, "sqlite_errorname", None) or type(error).__name__
