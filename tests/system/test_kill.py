"""Is every answered write on disk when the process is killed in the middle of its work?"""

import asyncio
import signal
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

from service.storage.ids import TimeOrderedIds
from service.storage.migrate import migrate
from service.storage.organisations import create_organisation
from service.storage.store import Store, open_store
from service.storage.verify import verify_audit
from tests.storage.made import HOSPITAL, sql_of
from tests.system.writing import PATIENTS

ROOT = Path(__file__).parents[2]
KILLS = 3
ANSWERS_BEFORE_A_KILL = 150

# Where each patient's pointer must stand: the latest observed screen that is not withdrawn.
LEADING = """
SELECT plan.id FROM screen JOIN plan ON plan.screen = screen.id
WHERE screen.patient = ? AND screen.version = 1
  AND screen.id NOT IN (SELECT id FROM screen WHERE status = 'withdrawn')
ORDER BY screen.observed DESC, screen.id DESC LIMIT 1
"""


def now() -> datetime:
    return datetime.now(UTC)


def answered_until_killed(path: Path) -> list[tuple[str, int]]:
    """Start a writing process, kill it without warning, and give what it had answered."""
    command = [sys.executable, "-m", "tests.system.writing", str(path)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        lines = [process.stdout.readline() for _ in range(ANSWERS_BEFORE_A_KILL)]
        process.send_signal(signal.SIGKILL)
        lines += process.stdout.readlines()
    assert process.returncode == -signal.SIGKILL
    whole = [line.split() for line in lines if line.endswith("\n")]
    assert len(whole) >= ANSWERS_BEFORE_A_KILL
    return [(screen, int(version)) for screen, version in whole]


async def missing(path: Path, org: str, answered: list[tuple[str, int]]) -> list[str]:
    store = open_store(path, now, TimeOrderedIds(now))
    await store.start()
    lost = [
        screen for screen, version in answered if await store.screen(org, screen, version) is None
    ]
    await pointers_stand(store, path, org)
    await store.close()
    return lost


async def pointers_stand(store: Store, path: Path, org: str) -> None:
    for number in range(PATIENTS):
        patient = await store.find_patient(org, HOSPITAL, f"H-{number}")
        assert patient is not None
        assert sql_of(path, LEADING, patient.id) == [(patient.current_plan,)]


def test_every_answered_write_outlives_a_kill(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    migrate(path)
    org = create_organisation(path, now, "Harbour House", "UTC").org
    answered: list[tuple[str, int]] = []
    for _ in range(KILLS):
        answered += answered_until_killed(path)
        report = verify_audit(path)
        assert report.sound, report.faults
        assert asyncio.run(missing(path, org, answered)) == []
    screens = sql_of(path, "SELECT count(*) FROM screen WHERE version = 1")[0][0]
    plans = sql_of(path, "SELECT count(*) FROM plan")[0][0]
    created = sql_of(path, "SELECT count(*) FROM plan_event WHERE kind = 'created'")[0][0]
    claims = sql_of(path, "SELECT count(*) FROM idempotency")[0][0]
    assert screens == plans == created == claims >= len(answered)
    assert verify_audit(path).sound
