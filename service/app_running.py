"""What watches over the service, as the operator set it?"""

import asyncio
import logging
import sys
from collections.abc import Awaitable, Callable
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from service.application.ports import AuditEntry
from service.clock import now
from service.rules.book import RuleBook
from service.settings import AuditReads, Settings, SettingsError
from service.storage.migrate import HEAD, version_of
from service.storage.store import Store
from service.storage.watch import Watch
from service.web.health_checks import Check, disk, outbox, raising, stated
from service.web.limits import Limits, Turnstile
from service.web.logs import configure, writer
from service.web.metrics import Metrics
from service.web.running import Phase, Running

if TYPE_CHECKING:
    from service.web.traces import Traces

_LOG = logging.getLogger("stanchion.audit")
_TELL_EVERY_S = 1.0
_Step = Callable[[], Awaitable[None]]


def limits_of(settings: Settings) -> Limits:
    return Limits(
        rate=settings.rate,
        credential_concurrency=settings.credential_concurrency,
        concurrency=settings.concurrency,
        connections=settings.connections,
        body_bytes=settings.body_bytes,
        fhir_body_bytes=settings.fhir_body_bytes,
        url_bytes=settings.url_bytes,
        head_bytes=settings.head_bytes,
        head_seconds=settings.head_seconds,
        request_seconds=settings.request_seconds,
    )


def log(settings: Settings) -> None:
    """Every line of the process in the form that was set."""
    configure(settings.log, settings.log_level)


class Watching(Struct, frozen=True):
    """Who is told what happens: the numbers, and traces where they are switched on."""

    metrics: Metrics
    traces: "Traces | None"

    @property
    def store(self) -> Watch:
        if self.traces is None:
            return self.metrics
        from service.web.traces import Watched

        return Watched(self.metrics, self.traces)

    @property
    def span(self) -> Callable[[str], AbstractContextManager[Any]]:
        return nullcontext if self.traces is None else self.traces.span

    def close(self) -> None:
        if self.traces is not None:
            self.traces.close()


def watching_of(settings: Settings, shared: Path | None = None) -> Watching:
    """``shared``: where the processes of one service count together.

    Raises SettingsError where traces are switched on and their library is not installed."""
    metrics = Metrics(shared)
    if settings.traces is None:
        return Watching(metrics, None)
    try:
        from service.web.traces import to_collector
    except ModuleNotFoundError as error:
        raise SettingsError("STANCHION_TRACES needs the extra `traces`: install it.") from error
    return Watching(metrics, to_collector(settings.traces))


def running_of(
    settings: Settings, store: Store, book: RuleBook, watching: Watching, more: tuple[Check, ...]
) -> Running:
    """Limits, numbers, the log and the checks of a service on ``store``."""
    return Running(
        turnstile=Turnstile(limits_of(settings)),
        metrics=watching.metrics,
        traces=watching.traces,
        write=writer(settings.log, settings.log_level, sys.stderr.buffer),
        checks=(*_checks(settings, store, book, watching.metrics), *more),
        metrics_token=settings.metrics_token,
        tls=settings.base.startswith("https://"),
        origins=settings.cors_origins,
        queued=lambda: store.queued,
    )


def life_of(store: Store, running: Running, watching: Watching) -> tuple[_Step, _Step]:
    """What is to be done before the first request, and after the last."""
    telling: list[asyncio.Task[None]] = []

    async def start() -> None:
        await store.start()
        if running.metrics.shared is not None:
            telling.append(asyncio.create_task(_keep_telling(running)))

    async def close() -> None:
        for task in telling:
            task.cancel()
        await store.close()
        watching.close()

    return start, close


async def _keep_telling(running: Running) -> None:
    """What is so in this process, each second: whichever process is asked tells it for all."""
    while True:
        running.metrics.stands(running=running.turnstile.inside, queue=running.queued())
        await asyncio.sleep(_TELL_EVERY_S)


def _checks(
    settings: Settings, store: Store, book: RuleBook, metrics: Metrics
) -> tuple[Check, ...]:
    place = settings.place
    # of a server's disk its own watch tells
    on_disk = isinstance(place, Path)
    free = disk(settings.database, settings.disk_low_mib, settings.disk_least_mib, metrics.disk)
    return (
        raising("audit", store.check_audit),
        stated("migrations", lambda: version_of(place) == HEAD, "Run `stanchion migrate`."),
        stated("rule_book", lambda: bool(book.methods and book.moves), "It has no methods."),
        *((free,) if on_disk else ()),
        outbox(store.outbox_waiting, now, settings.outbox_old_seconds, metrics.outbox),
    )


def unaudited_of(
    settings: Settings, metrics: Metrics, phase: Phase
) -> Callable[[AuditEntry], None] | None:
    """Who takes the audit entry of a current plan's reading that could not be written: the log,
    the numbers, and readiness, which is asked anew. None where such readings are closed."""
    if settings.audit_reads == AuditReads.CLOSED:
        return None

    def take(entry: AuditEntry) -> None:
        metrics.unaudited()
        phase.in_doubt = True
        _LOG.error(
            "not in the audit trail: %s %s org=%s credential=%s patient=%s target=%s request=%s",
            entry.action,
            entry.outcome,
            entry.principal.org,
            entry.principal.credential,
            entry.patient,
            entry.target,
            entry.request_id,
        )

    return take
