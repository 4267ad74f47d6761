"""Where did the time of a request go? Spans of OpenTelemetry, where traces are switched on.

A span has the method, the template of the address, the status, the request's id, and the size of
a commit: nothing that was sent, and of an error nothing at all. This module alone knows the
library, and it is loaded only where a collector is named.
"""

import time
from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Any, Protocol

from opentelemetry.context import Context
from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter
from opentelemetry.sdk.resources import Resource
from opentelemetry.sdk.trace import SpanProcessor, TracerProvider
from opentelemetry.sdk.trace.export import BatchSpanProcessor
from opentelemetry.trace import SpanKind
from opentelemetry.trace.propagation.tracecontext import TraceContextTextMapPropagator

from service import __version__
from service.web.metrics import METHODS, NO_ROUTE, OTHER_METHOD

_PARENT = b"traceparent"


class Counts(Protocol):
    """Who is told of commits besides: ``storage.watch.Watch``."""

    def committed(self, size: int, seconds: float) -> None: ...
    def planned(self, chosen: Iterable[tuple[str, str]]) -> None: ...
    def lapsed(self, count: int) -> None: ...


class Traces:
    """Spans go to ``processor``; ``close`` sends what is left."""

    def __init__(self, processor: SpanProcessor) -> None:
        named = {"service.name": "stanchion", "service.version": __version__}
        self._provider = TracerProvider(resource=Resource(named), shutdown_on_exit=False)
        self._provider.add_span_processor(processor)
        self._tracer = self._provider.get_tracer("stanchion", __version__)

    def close(self) -> None:
        self._provider.shutdown()

    @contextmanager
    def request(self, scope: Any) -> Iterator[None]:
        """The span of a request, below the sender's where it names one in ``traceparent``."""
        method = scope["method"] if scope["method"] in METHODS else OTHER_METHOD
        with self._tracer.start_as_current_span(
            method,
            context=_sent(scope["headers"]),
            kind=SpanKind.SERVER,
            record_exception=False,
            set_status_on_exception=False,
        ) as span:
            try:
                yield
            finally:
                route = getattr(scope.get("route_handler"), "name", None) or NO_ROUTE
                span.update_name(f"{method} {route}")
                span.set_attribute("http.request.method", method)
                span.set_attribute("http.route", route)
                span.set_attribute("http.response.status_code", scope["state"].get("status", 0))
                span.set_attribute("stanchion.request_id", scope["state"]["request_id"])

    def span(self, name: str) -> AbstractContextManager[Any]:
        """A span of a part of the work."""
        return self._tracer.start_as_current_span(
            name, record_exception=False, set_status_on_exception=False
        )

    def committed(self, size: int, seconds: float) -> None:
        """The span of a commit that is over. It belongs to many requests, so to none."""
        ended = time.time_ns()
        span = self._tracer.start_span("commit", Context(), start_time=ended - int(seconds * 1e9))
        span.set_attribute("stanchion.commit.size", size)
        span.end(ended)


class Watched:
    """Tells ``counts`` everything, and ``traces`` of commits."""

    def __init__(self, counts: Counts, traces: Traces) -> None:
        self._counts = counts
        self._traces = traces
        self.planned = counts.planned
        self.lapsed = counts.lapsed

    def committed(self, size: int, seconds: float) -> None:
        self._counts.committed(size, seconds)
        self._traces.committed(size, seconds)


def to_collector(endpoint: str) -> Traces:
    """Traces that are sent by OTLP over HTTP, in a thread of their own."""
    return Traces(BatchSpanProcessor(OTLPSpanExporter(endpoint=endpoint)))


def _sent(headers: Iterable[tuple[bytes, bytes]]) -> Context | None:
    parents = [value for name, value in headers if name == _PARENT]
    if len(parents) != 1:
        return None
    carrier = {_PARENT.decode(): parents[0].decode("latin-1")}
    return TraceContextTextMapPropagator().extract(carrier)
