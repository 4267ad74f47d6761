"""What do those who run the service count? Numbers in a registry of their own.

Labels come from closed lists: the templates of addresses, known methods, statuses, ids of the
rule book, names of checks. Nothing that a client sent is ever a label.
"""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Literal

from prometheus_client import (
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    disable_created_metrics,
    generate_latest,
)

from service import __version__
from service.web.metrics_shared import whole

MEDIA = "text/plain; version=0.0.4; charset=utf-8"
NO_ROUTE = "none"
METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
OTHER_METHOD = "other"
disable_created_metrics()  # type: ignore[no-untyped-call]

_SECONDS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)
_BATCHES = (1, 2, 4, 8, 16, 32, 64, 128)


_OfMany = Literal["sum", "mostrecent"]
_LAST: _OfMany = "mostrecent"


class Metrics:
    """Every number of one service. Fulfils ``storage.watch.Watch``. ``refused``: how many
    credentials were refused, by a reason of a closed list; read in ``stands``. ``shared``: where
    the processes of one service count, once ``metrics_shared.share`` was called."""

    def __init__(self, shared: Path | None = None) -> None:
        self.registry = CollectorRegistry()
        self.shared = shared
        self.refused: Mapping[str, int] = {}
        self._refused_told: dict[str, int] = {}
        self._of_route: dict[tuple[str, str, int], tuple[Any, Any]] = {}
        self._requests = self._counter("requests", "Answers.", "method", "route", "status")
        self._seconds = self._histogram("request_seconds", "Head to answer.", _SECONDS, "route")
        self._running = self._gauge("requests_running", "Requests being answered.", "sum")
        self._limited = self._counter("limited", "Requests refused by a limit.", "status")
        self._screens = self._counter("screens", "Screens kept.")
        self._planned = self._counter(
            "moves_planned", "Moves of kept screens, by the method chosen.", "method", "move"
        )
        self._lapsed = self._counter("plans_lapsed", "Plans whose time was told to be over.")
        self._batch = self._histogram("commit_batch_size", "Writes in a commit.", _BATCHES)
        self._commit = self._histogram("commit_seconds", "Time of a commit.", _SECONDS)
        self._queue = self._gauge("write_queue_depth", "Writes that wait.", "sum")
        self._unaudited = self._counter(
            "audit_failures", "Reads answered whose audit entry is in the log only."
        )
        self._refused = self._counter("credentials_refused", "Credentials refused.", "reason")
        self._outbox = self._gauge("outbox_depth", "Entries undelivered.")
        self._age = self._gauge("outbox_age_seconds", "Age of the oldest of them.")
        self._disk = self._gauge("disk_free_bytes", "Free where the record is.")
        self._check = self._gauge("check", "1 good, 0.5 a warning, 0 failing.", _LAST, "check")
        self._gauge("release", "Always 1.", _LAST, "version").labels(__version__).set(1)

    def _counter(self, name: str, text: str, *labels: str) -> Counter:
        return Counter(f"stanchion_{name}", text, labels, registry=self.registry)

    def _gauge(self, name: str, text: str, of_many: _OfMany = _LAST, *labels: str) -> Gauge:
        """``of_many``: what several processes set is added up, or the last of it holds."""
        name = f"stanchion_{name}"
        return Gauge(name, text, labels, registry=self.registry, multiprocess_mode=of_many)

    def _histogram(
        self, name: str, text: str, buckets: tuple[float, ...], *labels: str
    ) -> Histogram:
        name = f"stanchion_{name}"
        return Histogram(name, text, labels, buckets=buckets, registry=self.registry)

    def answered(self, method: str, route: str, status: int, seconds: float) -> None:
        known = method if method in METHODS else OTHER_METHOD
        key = (known, route, status)
        kept = self._of_route.get(key)
        if kept is None:
            kept = (self._requests.labels(known, route, status), self._seconds.labels(route))
            self._of_route[key] = kept
        kept[0].inc()
        kept[1].observe(seconds)

    def limited(self, status: int) -> None:
        self._limited.labels(status).inc()

    def unaudited(self) -> None:
        self._unaudited.inc()

    def planned(self, chosen: Iterable[tuple[str, str]]) -> None:
        """A screen was kept; ``chosen``: the method and the move of each planned move."""
        self._screens.inc()
        for method, move in chosen:
            self._planned.labels(method, move).inc()

    def lapsed(self, count: int) -> None:
        self._lapsed.inc(count)

    def committed(self, size: int, seconds: float) -> None:
        self._batch.observe(size)
        self._commit.observe(seconds)

    def stands(self, *, running: int, queue: int) -> None:
        """What is so at the moment of asking."""
        self._running.set(running)
        self._queue.set(queue)
        for reason, count in self.refused.items():
            self._refused.labels(reason).inc(count - self._refused_told.get(reason, 0))
            self._refused_told[reason] = count

    def outbox(self, depth: int, age_seconds: float) -> None:
        self._outbox.set(depth)
        self._age.set(age_seconds)

    def disk(self, free_bytes: int) -> None:
        self._disk.set(free_bytes)

    def checked(self, name: str, worth: float) -> None:
        self._check.labels(name).set(worth)

    def text(self) -> bytes:
        """Everything, in the text form that Prometheus reads."""
        return generate_latest(self.registry) if self.shared is None else whole(self.shared)
