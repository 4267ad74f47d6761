"""Where do the use cases keep and find everything? The durable record on SQLite."""

from collections.abc import Callable, Iterable
from datetime import datetime
from importlib import import_module
from typing import IO, TypeVar

from msgspec.structs import replace

from service.application.ports import (
    AuditEntry,
    Clock,
    Correction,
    Family,
    KeptPlan,
    KeptScreen,
    Merge,
    NewId,
    NewScreen,
    Standing,
    StandingsAsked,
    Withdrawal,
    Write,
)
from service.domain.problem import NotFound
from service.domain.record import Page, PatientRecord, Principal, Refusal, ScreenRecord
from service.domain.score import EarlierScore
from service.domain.value import Identifier
from service.storage import deeds, reads
from service.storage.batch import Batch
from service.storage.change_screen import correct, withdraw
from service.storage.connection import hold_lock, writing
from service.storage.cursor import FIRST_DOWN, read_cursor
from service.storage.engine import Engine, SqliteEngine
from service.storage.first_and_last import last_recorded
from service.storage.foresight import Ask, Foreseeing, asks_of
from service.storage.keep_all import all_encoded, keep_all
from service.storage.keep_screen import Stored, encoded, keep
from service.storage.keyring import Keyring
from service.storage.migrate import migrate
from service.storage.place import Place, Server
from service.storage.plan_store import PlanStore
from service.storage.reader import Reader
from service.storage.search_store import SearchStore
from service.storage.standings import read_family, read_standings
from service.storage.times import to_micros
from service.storage.trail_store import TrailStore
from service.storage.upkeep import Upkeep
from service.storage.watch import Unwatched, Watch
from service.storage.well_store import WellStore
from service.storage.writer import Writer

T = TypeVar("T")

_FEW = 2  # so many plans are read in less time than it takes to hand them to a thread


def open_store(path: Place, clock: Clock, new_id: NewId, watch: Watch | None = None) -> "Store":
    """The store at this place, brought up to date. Raises StoreInUse, NewerDatabase."""
    lock = hold_lock(path)
    try:
        migrate(path)
        return Store(path, clock, new_id, lock, watch or Unwatched())
    except BaseException:
        lock.close()
        raise


def _opened(place: Place) -> tuple[Engine, Reader]:
    if isinstance(place, Server):
        # the driver is installed, and loaded, only where it is used
        engine = import_module("service.storage.postgres.engine")
        reader = import_module("service.storage.postgres.reader")
        return engine.PostgresEngine(place.write), reader.PostgresReader(place.read or place.write)
    return SqliteEngine(writing(place)), Reader(place)


class Store(PlanStore, SearchStore, TrailStore, WellStore):
    """Implements ``application.ports.Records``; ``start`` before the first call, ``close`` last."""

    def __init__(
        self, path: Place, clock: Clock, new_id: NewId, lock: IO[str], watch: Watch
    ) -> None:
        self._lock = lock
        self._watch = watch
        engine, self._reader = _opened(path)
        self._writer = Writer(engine, clock, new_id, last_recorded(path), watch)
        self._keyring = Keyring(clock, self._reader, self._writer)
        self._upkeep = Upkeep(self._writer, watch)

    async def start(self) -> None:
        self._writer.start()
        await self._upkeep.start()

    async def close(self) -> None:
        """What waits is written and sealed before the file is let go."""
        if self._lock.closed:
            return
        await self._upkeep.stop()
        await self._writer.stop()
        self._reader.close()
        self._writer.close()
        self._lock.close()

    async def authenticate(self, key: str) -> Principal | Refusal:
        """Whose API key it is, or why it opens nothing."""
        return await self._keyring.authenticate(key)

    async def keep(self, new: NewScreen) -> KeptScreen:
        documents = encoded(new)
        entry = AuditEntry("screen.record", new.principal, new.request_id, "")
        done = await self._write(entry, lambda batch: keep(batch, new, documents), asks_of(new))
        return await self._answer(new.principal, done)

    async def correct(self, correction: Correction) -> KeptScreen:
        by, screen = correction.principal, correction.screen_id
        entry = AuditEntry("screen.correct", by, correction.request_id, "", None, screen)
        done = await self._write(entry, lambda batch: deeds.giving(correct(batch, correction)))
        return await self._read_back(by, done)

    async def withdraw(self, withdrawal: Withdrawal) -> KeptScreen:
        by, screen = withdrawal.principal, withdrawal.screen_id
        entry = AuditEntry("screen.withdraw", by, withdrawal.request_id, "", None, screen)
        done = await self._write(entry, lambda batch: deeds.giving(withdraw(batch, withdrawal)))
        return await self._read_back(by, done)

    async def keep_all(self, writes: tuple[Write, ...]) -> tuple[KeptScreen, ...]:
        documents = all_encoded(writes)
        org = writes[0].principal.org if writes else None
        asks = [ask for one in writes if isinstance(one, NewScreen) for ask in asks_of(one)]
        decision = Foreseeing(lambda batch: keep_all(batch, writes, documents), asks)
        done = await self._writer.submit(decision, org)
        told = zip(writes, done, strict=True)
        return tuple([await self._answer(write.principal, each) for write, each in told])

    async def merge(self, merge: Merge) -> PatientRecord:
        by = merge.principal
        entry = AuditEntry("patient.merge", by, merge.request_id, "", merge.patient, merge.into)
        stays = await self._write(
            entry,
            lambda batch: deeds.giving(deeds.merged(batch, merge, replace(entry, outcome="ok"))),
        )
        record = await self.patient(by.org, stays)
        if record is None:
            raise NotFound("No such patient.")
        return record

    async def audit(self, entry: AuditEntry) -> None:
        await self._writer.submit(lambda batch: deeds.noted(batch, entry), entry.principal.org)

    async def screen(self, org: str, screen: str, version: int | None = None) -> KeptScreen | None:
        return await self._reader.one(lambda found: reads.read_screen(found, org, screen, version))

    async def screen_of_source(self, org: str, source: str) -> KeptScreen | None:
        return await self._reader.one(lambda found: reads.screen_of_source(found, org, source))

    async def patient(self, org: str, patient: str) -> PatientRecord | None:
        return await self._reader.one(lambda found: reads.read_patient(found, org, patient))

    async def earlier_scores(
        self, org: str, identifier: Identifier, before: datetime, but: str
    ) -> tuple[EarlierScore, ...]:
        return await self._reader.one(
            lambda found: reads.earlier_scores(found, org, identifier, before, but)
        )

    async def find_patient(self, org: str, system: str, value: str) -> PatientRecord | None:
        return await self._reader.one(lambda found: reads.find_patient(found, org, system, value))

    async def screens_of(
        self, org: str, patient: str, limit: int, after: str | None
    ) -> Page[ScreenRecord]:
        start = read_cursor(after) if after is not None else FIRST_DOWN
        return await self._reader.page(
            lambda found: reads.screens_of(found, org, patient, limit, start)
        )

    async def plans_of(
        self, org: str, patient: str, limit: int, after: str | None
    ) -> Page[KeptPlan]:
        start = read_cursor(after) if after is not None else FIRST_DOWN
        return await self._reader.page(
            lambda found: reads.plans_of(found, org, patient, limit, start)
        )

    async def screens_since(
        self, org: str, since: datetime, limit: int, after: str | None
    ) -> Page[ScreenRecord]:
        start = read_cursor(after) if after is not None else (to_micros(since), "")
        return await self._reader.page(lambda found: reads.screens_since(found, org, limit, start))

    async def standings(
        self, org: str, patient: str, asked: StandingsAsked
    ) -> tuple[Standing, ...]:
        read = self._reader.one if asked.limit + asked.earlier <= _FEW else self._reader.page
        return await read(lambda found: read_standings(found, org, patient, asked))

    async def _answer(self, by: Principal, done: KeptScreen | Stored) -> KeptScreen:
        """A screen that is new here is counted; one that was kept before is read back."""
        if isinstance(done, Stored):
            return await self._read_back(by, done)
        self._watch.planned((move.method, move.move) for move in done.plan.plan.moves)
        return done

    async def family(self, org: str, patient: str) -> Family | None:
        return await self._reader.one(lambda found: read_family(found, org, patient))

    async def _read_back(self, by: Principal, done: Stored) -> KeptScreen:
        kept = await self.screen(by.org, done.screen, done.version)
        if kept is None:
            raise NotFound("No such screen.")
        return replace(kept, replayed=done.replayed)

    async def _write(
        self,
        entry: AuditEntry,
        decide: Callable[[Batch], Callable[[], T]],
        asks: Iterable[Ask] = (),
    ) -> T:
        decision = Foreseeing(lambda batch: deeds.audited(batch, entry, decide), asks)
        return await self._writer.submit(decision, entry.principal.org)
