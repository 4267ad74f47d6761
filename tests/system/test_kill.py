"""Is every answered write on disk when the process is killed in the middle of its work?"""

import asyncio
import signal
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from random import Random

from service.storage.ids import TimeOrderedIds
from service.storage.migrate import migrate
from service.storage.organisations import create_organisation
from service.storage.place import Place
from service.storage.store import Store, open_store
from service.storage.verify import verify_audit
from tests.storage.made import HOSPITAL, sql_of
from tests.storage.servers import database
from tests.system.writing import PATIENTS, words_of

ROOT = Path(__file__).parents[2]
KILLS = 100
KILLS_ON_A_SERVER = 20
LOOKED_THROUGH = 4
"""So often everything that was ever answered is looked for."""
ANSWERS_BEFORE_A_KILL = (5, 60)
DRAWN = Random(4711)  # noqa: S311 - the moments of the kills, the same in each run

# Where each patient's pointer must stand: the latest observed screen that is not withdrawn.
LEADING = """
SELECT plan.id FROM screen JOIN plan ON plan.screen = screen.id
WHERE screen.patient = ? AND screen.version = 1
  AND screen.id NOT IN (SELECT id FROM screen WHERE status = 'withdrawn')
ORDER BY screen.observed DESC, screen.id DESC LIMIT 1
"""


def now() -> datetime:
    return datetime.now(UTC)


def answered_until_killed(path: Place, answers: int) -> list[tuple[str, int]]:
    """Start a writing process, kill it without warning once it gave that many answers and in the
    middle of the next ones, and give all that it had answered."""
    command = [sys.executable, "-m", "tests.system.writing", *words_of(path)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        lines = [process.stdout.readline() for _ in range(answers)]
        process.send_signal(signal.SIGKILL)
        lines += process.stdout.readlines()
    assert process.returncode == -signal.SIGKILL
    whole = [line.split() for line in lines if line.endswith("\n")]
    assert len(whole) >= answers
    return [(screen, int(version)) for screen, version in whole]


async def missing(path: Place, org: str, answered: list[tuple[str, int]]) -> list[str]:
    store = open_store(path, now, TimeOrderedIds(now))
    await store.start()
    lost = [
        screen for screen, version in answered if await store.screen(org, screen, version) is None
    ]
    await pointers_stand(store, path, org)
    await store.close()
    return lost


def kept(path: Place, answered: list[tuple[str, int]]) -> int:
    """How many of the answered screens are on disk in the version that was answered."""
    versions = dict(sql_of(path, "SELECT id, max(version) FROM screen GROUP BY id"))
    return sum(versions.get(screen, 0) >= version for screen, version in answered)


async def pointers_stand(store: Store, path: Place, org: str) -> None:
    for number in range(PATIENTS):
        patient = await store.find_patient(org, HOSPITAL, f"H-{number}")
        assert patient is not None
        assert sql_of(path, LEADING, patient.id) == [(patient.current_plan,)]


def test_every_answered_write_outlives_a_kill(tmp_path: Path) -> None:
    survive(tmp_path / "record.db", KILLS)


def test_every_answered_write_outlives_a_kill_on_a_server() -> None:
    with database() as place:
        survive(place, KILLS_ON_A_SERVER)


def survive(path: Place, kills: int) -> None:
    migrate(path)
    org = create_organisation(path, now, "Harbour House", "UTC").org
    answered: list[tuple[str, int]] = []
    for kill in range(1, kills + 1):
        now_answered = answered_until_killed(path, DRAWN.randint(*ANSWERS_BEFORE_A_KILL))
        assert kept(path, now_answered) == len(now_answered)
        answered += now_answered
        if kill % (kills // LOOKED_THROUGH) == 0:
            report = verify_audit(path)
            assert report.sound, report.faults
            assert asyncio.run(missing(path, org, answered)) == []
    screens = sql_of(path, "SELECT count(*) FROM screen WHERE version = 1")[0][0]
    plans = sql_of(path, "SELECT count(*) FROM plan")[0][0]
    created = sql_of(path, "SELECT count(*) FROM plan_event WHERE kind = 'created'")[0][0]
    claims = sql_of(path, "SELECT count(*) FROM idempotency")[0][0]
    assert screens == plans == created == claims >= len(answered)
    assert verify_audit(path).sound
