"""Do several processes leave the record as one would have, whatever the order they came in?"""

import asyncio
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import msgspec
import pytest

from service.storage.organisations import create_organisation
from service.storage.place import Place, Server
from service.storage.times import to_micros
from service.storage.verify import verify_audit
from tests.house.tree import ROOT
from tests.storage.made import MORNING, SteppingClock, empty_record, rows_of, sql_of
from tests.storage.servers import database
from tests.system.sharing import Deed, do, house_at

PROCESSES = 3
PATIENTS = 4
SCREENS = 40

# Where each patient's pointer must stand, by what each screen says last.
_LEADING = """
SELECT plan.id FROM screen
JOIN plan ON plan.screen = screen.id AND plan.screen_version = screen.version
WHERE screen.patient = ? AND screen.status <> 'withdrawn'
  AND screen.version = (SELECT max(version) FROM screen AS later WHERE later.id = screen.id)
ORDER BY screen.observed DESC, screen.id DESC LIMIT 1"""
_SOURCE = "SELECT id, source_id FROM screen WHERE version = 1"
_HISTORY = """
SELECT patient_id.value, plan_event.rev, plan_event.kind, plan.screen, plan.screen_version
FROM plan_event JOIN plan ON plan.id = plan_event.plan
JOIN patient_id ON patient_id.patient = plan_event.patient
ORDER BY 1, 2"""
_STANDING = """
SELECT patient_id.value, patient.rev, patient.current_screen, patient.current_observed
FROM patient JOIN patient_id ON patient_id.patient = patient.id ORDER BY 1"""
_VERSIONS = "SELECT id, version, status, observed FROM screen ORDER BY 1, 2"


@pytest.fixture
def server() -> Iterator[Server]:
    with database() as place:
        create_organisation(place, SteppingClock(), "Harbour House", "UTC")
        yield place


def parts(drawn: Random) -> list[list[Deed]]:
    """Each process's deeds in an order of its own. Each screen is sent by two of them, and every
    third is corrected or withdrawn by any."""
    minutes = drawn.sample(range(1, 10_000), SCREENS * 2)
    told: list[list[Deed]] = [[] for _ in range(PROCESSES)]
    for number in range(SCREENS):
        patient, source = f"H-{number % PATIENTS}", f"s-{number}"
        kept = Deed("keep", patient, source, minutes[number])
        for part in drawn.sample(told, 2):
            part.append(kept)
        if number % 3 == 0:
            drawn.choice(told).append(Deed("correct", patient, source, minutes[SCREENS + number]))
        if number % 5 == 0:
            drawn.choice(told).append(Deed("withdraw", patient, source))
    for part in told:
        drawn.shuffle(part)
    return told


def share_out(told: list[list[Deed]], server: Server, folder: Path) -> None:
    """All the processes at once, to the end of each."""
    running = []
    for number, part in enumerate(told):
        path = folder / f"deeds-{number}.json"
        path.write_bytes(msgspec.json.encode(part))
        words = [str(path), server.write, server.read or server.write]
        command = [sys.executable, "-m", "tests.system.sharing", *words]
        running.append(subprocess.Popen(command, cwd=ROOT, stderr=subprocess.PIPE, text=True))
    for process in running:
        _, said = process.communicate(timeout=120)
        assert process.returncode == 0, said


def done_in(place: Place) -> list[Deed]:
    """What was done, in the order that the trail tells."""
    sources = dict(sql_of(place, _SOURCE))
    observed = {(row[0], row[1]): row[3] for row in sql_of(place, _VERSIONS)}
    whose = dict(sql_of(place, "SELECT patient, value FROM patient_id"))
    versions: dict[str, int] = {}
    told = []
    for (body,) in sql_of(place, "SELECT body FROM audit WHERE chain = 1 ORDER BY seq"):
        entry = json.loads(body)
        kind = {"screen.record": "keep", "screen.correct": "correct", "screen.withdraw": "withdraw"}
        if entry["outcome"] != "ok" or entry["action"] not in kind:
            continue
        screen, deed = entry["target"], kind[entry["action"]]
        versions[screen] = versions.get(screen, 0) + 1
        at = 0 if deed == "withdraw" else observed[screen, versions[screen]]
        told.append(Deed(deed, whose[entry["patient"]], sources[screen], _minutes(at)))
    return told


def _minutes(observed: int) -> int:
    return (observed - to_micros(MORNING)) // 60_000_000 if observed else 0


def state_of(place: Place) -> dict[str, Any]:
    """All that can be compared, screens named by what the senders called them."""
    sources = dict(sql_of(place, _SOURCE))
    return {
        "history": [(*row[:3], sources[row[3]], row[4]) for row in sql_of(place, _HISTORY)],
        "standing": [
            (row[0], row[1], sources.get(row[2]), row[3]) for row in sql_of(place, _STANDING)
        ],
        "versions": sorted((sources[row[0]], *row[1:]) for row in sql_of(place, _VERSIONS)),
    }


async def folded(deeds: list[Deed], place: Path) -> None:
    """One process, one after the other."""
    house = await house_at(place)
    for deed in deeds:
        assert await do(house, deed)
    await house.store.close()


@pytest.mark.parametrize("seed", range(3))
def test_three_processes_leave_what_one_would_have_left(
    server: Server, tmp_path: Path, seed: int
) -> None:
    share_out(parts(Random(seed)), server, tmp_path)  # noqa: S311 - the same orders in each run
    report = verify_audit(server)
    assert report.sound, report.faults
    assert report.seals > PROCESSES
    assert sql_of(server, "SELECT count(*) FROM screen WHERE version = 1") == [(SCREENS,)]
    assert rows_of(server, "idempotency") == SCREENS
    for _, patient in sql_of(server, "SELECT value, patient FROM patient_id"):
        pointer = sql_of(server, "SELECT current_plan FROM patient WHERE id = ?", patient)
        assert sql_of(server, _LEADING, patient) == pointer

    alone = empty_record(tmp_path / "alone.db")
    create_organisation(alone, SteppingClock(), "Harbour House", "UTC")
    deeds = done_in(server)
    assert len(deeds) >= SCREENS + SCREENS // 5
    asyncio.run(folded(deeds, alone))
    assert state_of(server) == state_of(alone)
