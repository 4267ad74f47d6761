"""While nothing can be noted, is nothing done and nothing shown but a plan that holds now?"""

from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from service.application.ports import AuditEntry
from service.domain.problem import Unavailable
from service.storage.writer import Writer
from service.web.fhir.content import PREFIX
from service.web.fhir.routes import Route
from service.web.house import House
from tests.storage.made import sql_of
from tests.web.fhir.test_trail_of_routes import ON_ONE, SEARCHES, kind_of, path_of
from tests.web.foreign import Foreign, recorded
from tests.web.test_trail_of_operations import NOTED, done
from tests.web.world import World, screen, world

CURRENT = {"currentPlan", "readPlan", "readPlannedMove"}
"""What is read of a plan that holds now."""
TABLES = ("screen", "plan", "plan_event", "patient", "audit", "idempotency", "outbox")


def unwritten(monkeypatch: pytest.MonkeyPatch) -> None:
    """From now on every write fails, as on a full disk."""

    async def fail(*_: Any, **__: Any) -> None:
        raise Unavailable("The record cannot be written now; nothing was kept.")

    monkeypatch.setattr(Writer, "submit", fail)


def rows(running: World) -> list[Any]:
    counted = "SELECT count(*) FROM {}"
    return [sql_of(running.database, counted.format(table)) for table in TABLES]


async def statuses(running: World, held: Foreign) -> dict[str, int]:
    """What each operation answers; another patient to merge with is there."""
    return {
        one.id: (await done(running, one, held, into=held.ids["other"])).answer.status_code
        for one in NOTED
    }


async def known(running: World) -> Foreign:
    held = await recorded(running)
    held.ids["other"] = (await running.post(screen("H-8")))["screen"]["patient_id"]
    return held


async def test_where_such_readings_are_closed_nothing_at_all_is_answered(
    running: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    held = await known(running)
    unwritten(monkeypatch)
    before = rows(running)
    assert set((await statuses(running, held)).values()) == {503}
    for path in fhir_paths(held):
        assert (await running.client.get(path)).status_code == 503, path
    assert rows(running) == before


async def test_a_plan_that_holds_now_is_read_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[AuditEntry] = []

    def opened(house: House, *_: str) -> House:
        return replace(house, service=replace(house.service, unaudited=told.append))

    async with world(tmp_path, change=opened) as running:
        held = await known(running)
        unwritten(monkeypatch)
        before = rows(running)
        answered = await statuses(running, held)
        assert {name for name, status in answered.items() if status == 200} == CURRENT
        assert {status for name, status in answered.items() if name not in CURRENT} == {503}
        plan = f"{PREFIX}/CarePlan/{held.ids['plan_id']}"
        shown = [
            path for path in fhir_paths(held) if (await running.client.get(path)).status_code == 200
        ]
        assert shown == [plan]
        assert rows(running) == before
        assert {one.patient for one in told} == {held.ids["patient_id"]}


def fhir_paths(held: Foreign) -> list[str]:
    """Each reading, and each search for whatever there is."""
    searches: list[Route] = [one for one in SEARCHES if one.method == "GET"]
    found = [path_of(one, held) for one in ON_ONE]
    current = f"{PREFIX}/CarePlan/{held.ids['plan_id']}"
    ours = [path for path in found if kind_of_path(path) != "CarePlan"]
    plans = [f"{current}/_history", f"{current}/_history/1", current]
    return [*ours, *plans, *[PREFIX + one.path for one in searches if kind_of(one) != "CarePlan"]]


def kind_of_path(path: str) -> str:
    return path.removeprefix(f"{PREFIX}/").partition("/")[0]
