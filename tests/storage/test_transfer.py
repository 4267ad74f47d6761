"""Is a record the same at the place it was moved to, and does it go on there?"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from service.storage import transfer as transfers
from service.storage.backup import back_up, restore
from service.storage.ids import TimeOrderedIds
from service.storage.migrate import migrate
from service.storage.place import Place
from service.storage.seal import seal_now
from service.storage.store import open_store
from service.storage.transfer import Different, Filled, transfer
from service.storage.verify import verify_audit
from tests.storage.made import House, rows_of, sql_of
from tests.storage.servers import database

TABLES = ("screen", "plan", "plan_event", "patient", "patient_id", "audit", "audit_seal")


@pytest.fixture(params=["sqlite", "postgres"])
def target(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Place]:
    if request.param == "postgres":
        with database() as server:
            yield server
        return
    migrate(tmp_path / "target.db")
    yield tmp_path / "target.db"


async def filled(house: House) -> None:
    for number in range(7):
        await house.store.keep(house.new(f"H-{number % 3}", number))
    await seal_now(house.store._writer)


def nothing(_table: str, _count: int) -> None:
    """Nobody looks on."""


async def test_every_row_arrives_as_it_was_and_the_record_goes_on_there(
    house: House, target: Place
) -> None:
    await filled(house)
    copied = transfer(house.path, target, nothing)
    for table in TABLES:
        everything = f"SELECT * FROM {table} ORDER BY 1, 2, 3"  # noqa: S608
        assert sql_of(target, everything) == sql_of(house.path, everything)
        assert copied.rows[table] == rows_of(target, table) > 0
    assert verify_audit(target).sound
    new_id = TimeOrderedIds(house.clock)
    store = open_store(target, house.clock, new_id)
    await store.start()
    there = House(store, target, house.clock, new_id, house.by)
    kept = await store.keep(there.new("H-1", 99))
    assert kept.plan.is_current and kept.plan.plan.replaces is not None
    await store.close()
    assert verify_audit(target).sound


async def test_a_record_that_is_there_is_not_overwritten_unless_it_is_said(
    house: House, target: Place
) -> None:
    await filled(house)
    transfer(house.path, target, nothing)
    with pytest.raises(Filled):
        transfer(house.path, target, nothing)
    assert rows_of(target, "screen") == 7
    transfer(house.path, target, nothing, replace=True)
    assert rows_of(target, "screen") == 7


async def test_where_a_row_differs_nothing_is_kept(
    house: House, target: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    await filled(house)
    copy = transfers._copy

    def careless(there: object, here: object, name: str, say: transfers.Progress) -> None:
        copy(there, here, name, say)
        if name == "screen":
            here.execute("UPDATE screen SET status = 'withdrawn'")  # type: ignore[attr-defined]

    monkeypatch.setattr(transfers, "_copy", careless)
    with pytest.raises(Different):
        transfer(house.path, target, nothing)
    assert rows_of(target, "screen") == rows_of(target, "organisation") == 0


async def test_how_far_it_is_is_told(house: House, target: Place) -> None:
    await filled(house)
    told: dict[str, int] = {}
    transfer(house.path, target, told.__setitem__)
    assert told["screen"] == 7


async def test_a_backup_is_the_same_file_whatever_it_was_made_of_and_put_back_anywhere(
    house: House, target: Place, tmp_path: Path
) -> None:
    await filled(house)
    copy = tmp_path / "night.db"
    manifest = back_up(house.path, house.clock, copy)
    assert manifest.rows["screen"] == 7 and manifest.seals
    restore(copy, house.clock, target, replace=isinstance(target, Path))
    for table in TABLES[:5]:
        everything = f"SELECT * FROM {table} ORDER BY 1, 2, 3"  # noqa: S608
        assert sql_of(target, everything) == sql_of(house.path, everything)
    assert verify_audit(target, manifest.seals).sound
    with pytest.raises(FileExistsError, match="--replace"):
        restore(copy, house.clock, target)
