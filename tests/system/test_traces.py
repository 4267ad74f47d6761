"""Do traces reach a collector where they are switched on, and is none of it loaded where not?"""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread

from opentelemetry.proto.collector.trace.v1.trace_service_pb2 import ExportTraceServiceRequest

from tests.system.markers import Markers, marked
from tests.system.server import serving


@contextmanager
def collector() -> Iterator[tuple[str, list[bytes]]]:
    """A collector on loopback: its address, and the bodies that it got."""
    bodies: list[bytes] = []

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            bodies.append(self.rfile.read(int(self.headers["content-length"])))
            self.send_response(200)
            self.end_headers()

        def log_message(self, *_: object) -> None:
            """Quiet."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/v1/traces", bodies
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def test_spans_of_a_real_process_reach_the_collector_without_anything_of_the_person(
    tmp_path: Path,
) -> None:
    markers = Markers()
    with collector() as (address, bodies):
        with serving(tmp_path / "traced.db", STANCHION_TRACES=address) as server:
            response = server.client.post("/v1/screens", json=marked(markers))
            assert response.status_code == 201
            assert server.stop() == 0
        assert bodies
    named = set()
    for body in bodies:
        told = ExportTraceServiceRequest.FromString(body)
        named |= {
            span.name
            for resource in told.resource_spans
            for scope in resource.scope_spans
            for span in scope.spans
        }
    assert {"POST /v1/screens", "assess", "commit"} <= named
    assert markers.found_in(b"".join(bodies).decode("latin-1")) == []


def test_where_traces_are_off_neither_their_sdk_nor_an_exporter_is_loaded(tmp_path: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from service.app import build\n"
        "from service.settings import Settings\n"
        f"build(Settings(database=Path({str(tmp_path / 'off.db')!r})))\n"
        "parts = ('opentelemetry.sdk', 'opentelemetry.exporter', 'service.web.traces')\n"
        "sys.exit(' '.join(name for name in sys.modules if name.startswith(parts)) or 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, timeout=120
    )
    assert (done.returncode, done.stderr.strip()) == (0, "")
