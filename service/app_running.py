"""What watches over the service, as the operator set it?"""

import logging
import sys
from collections.abc import Callable

from service.application.ports import AuditEntry
from service.clock import now
from service.rules.book import RuleBook
from service.settings import AuditReads, Settings
from service.storage.migrate import HEAD, version_of
from service.storage.store import Store
from service.web.health_checks import Check, disk, outbox, raising, stated
from service.web.limits import Limits, Turnstile
from service.web.logs import configure, writer
from service.web.metrics import Metrics
from service.web.running import Phase, Running

_LOG = logging.getLogger("stanchion.audit")


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


def running_of(
    settings: Settings, store: Store, book: RuleBook, metrics: Metrics, more: tuple[Check, ...]
) -> Running:
    """Limits, numbers, the log and the checks of a service on ``store``."""
    return Running(
        turnstile=Turnstile(limits_of(settings)),
        metrics=metrics,
        write=writer(settings.log, settings.log_level, sys.stderr.buffer),
        checks=(*_checks(settings, store, book, metrics), *more),
        metrics_token=settings.metrics_token,
        tls=settings.base.startswith("https://"),
        origins=settings.cors_origins,
        queued=lambda: store.queued,
    )


def _checks(
    settings: Settings, store: Store, book: RuleBook, metrics: Metrics
) -> tuple[Check, ...]:
    file = settings.database
    return (
        raising("audit", store.check_audit),
        stated("migrations", lambda: version_of(file) == HEAD, "Run `stanchion migrate`."),
        stated("rule_book", lambda: bool(book.methods and book.moves), "It has no methods."),
        disk(settings.database, settings.disk_low_mib, settings.disk_least_mib, metrics.disk),
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
