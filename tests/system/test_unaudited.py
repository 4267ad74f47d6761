"""While nothing can be written: is the current plan still read, and all else refused?"""

import resource
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from tests.system.server import Server, serving
from tests.web.world import FHIR, screen


@contextmanager
def full_disk(server: Server, database: Path) -> Iterator[None]:
    """Files of the server grow no more: a write behind their end fails as on a full disk."""
    log = database.with_name(f"{database.name}-wal")
    before = resource.prlimit(server.process.pid, resource.RLIMIT_FSIZE)
    size = log.stat().st_size
    assert size > 16_384
    resource.prlimit(server.process.pid, resource.RLIMIT_FSIZE, (size, before[1]))
    try:
        yield
    finally:
        resource.prlimit(server.process.pid, resource.RLIMIT_FSIZE, before)


def now_screened(server: Server) -> tuple[str, str, str]:
    """The ids of the screen, the patient and the plan of somebody who was seen just now."""
    body = screen(observed_at=datetime.now(UTC).isoformat())
    answer = server.client.post("/v1/screens", json=body)
    assert answer.status_code == 201, answer.text
    told = answer.json()
    return told["screen"]["id"], told["screen"]["patient_id"], told["plan"]["id"]


def test_on_a_full_disk_the_current_plan_is_read_and_nothing_else_happens(tmp_path: Path) -> None:
    database = tmp_path / "full.db"
    with serving(database) as server:
        seen, patient, plan = now_screened(server)
        with full_disk(server, database):
            refused = server.client.post("/v1/screens", json=screen("H-2"))
            assert (refused.status_code, refused.headers["retry-after"]) == (503, "2")
            for path in (
                f"/v1/patients/{patient}/plan",
                f"/v1/plans/{plan}",
                f"/v1/plans/{plan}/moves/bed_to_chair",
            ):
                assert server.client.get(path).status_code == 200, path
            assert server.client.get(f"/v1/plans/{plan}", headers=FHIR).status_code == 200
            assert server.client.get(f"/fhir/R4/CarePlan/{plan}").status_code == 200
            told = server.client.get(f"/v1/patients/{patient}/plan").json()
            assert (told["id"], told["state"]) == (plan, "current")
            for path in (f"/v1/screens/{seen}", f"/v1/patients/{patient}"):
                for headers in ({}, FHIR):
                    assert server.client.get(path, headers=headers).status_code == 503, path
            ready = server.client.get("/health/ready")
            assert ready.status_code == 503
            assert {"health.database", "health.audit"} == {
                fault["rule"] for fault in ready.json()["faults"]
            }
            numbers = server.client.get("/metrics").text
            assert "stanchion_audit_failures_total 8.0" in numbers
            assert 'stanchion_check{check="audit"} 0.0' in numbers
        now_screened(server)
        assert server.client.get("/health/ready").status_code == 200
        server.stop()
    log = database.with_suffix(".log").read_text(encoding="utf-8")
    entries = [line for line in log.splitlines() if "not in the audit trail" in line]
    assert len(entries) == 8
    assert sum("plan.read ok" in line and plan in line for line in entries) == 6
    assert all(f"patient={patient}" in line for line in entries)


def test_where_such_readings_are_closed_the_plan_is_refused_too(tmp_path: Path) -> None:
    database = tmp_path / "closed.db"
    with serving(database, STANCHION_AUDIT_READS="closed") as server:
        _, patient, plan = now_screened(server)
        with full_disk(server, database):
            for path in (f"/v1/patients/{patient}/plan", f"/v1/plans/{plan}"):
                assert server.client.get(path).status_code == 503, path
        assert server.client.get(f"/v1/plans/{plan}").status_code == 200
    assert "not in the audit trail" not in database.with_suffix(".log").read_text(encoding="utf-8")
