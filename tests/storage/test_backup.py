"""Is a backup one whole state of the record, and is nothing put back that is not?"""

import json
from pathlib import Path

import pytest

from service.storage.backup import BadBackup, Manifest, _digest, back_up, manifest_of, restore
from service.storage.connection import StoreInUse
from service.storage.migrate import HEAD
from service.storage.seal import seal_now
from service.storage.verify import verify_audit
from tests.storage.made import ON_A_FILE, House, rows_of, sql_of

SCREENS = 5

pytestmark = ON_A_FILE


@pytest.fixture
async def backup(house: House, tmp_path: Path) -> Path:
    """Made while the store is open."""
    for number in range(SCREENS):
        await house.store.keep(house.new(f"H-{number}", number))
    await seal_now(house.store._writer)
    to = tmp_path / "copies" / "night.db"
    to.parent.mkdir()
    back_up(house.file, house.clock, to)
    return to


async def test_a_backup_holds_every_row_and_says_how_many(house: House, backup: Path) -> None:
    told = json.loads(manifest_of(backup).read_bytes())
    assert rows_of(backup, "screen") == told["rows"]["screen"] == SCREENS
    assert told["schema"] == HEAD
    assert told["size_bytes"] == len(_bytes(backup))
    assert [seal["org"] for seal in told["seals"]] == [house.by.org]
    assert not _left(backup.parent)


async def test_only_its_owner_may_read_a_backup(backup: Path) -> None:
    assert {oct(each.stat().st_mode & 0o777) for each in (backup, manifest_of(backup))} == {"0o600"}


async def test_the_trail_tells_of_a_backup_and_of_a_restore(
    house: House, backup: Path, tmp_path: Path
) -> None:
    told = "SELECT json_extract(body, '$.action') FROM audit WHERE chain = 2"
    assert ("backup.make",) in sql_of(house.path, told)
    restored = tmp_path / "restored.db"
    restore(backup, house.clock, restored)
    assert sql_of(restored, told)[-2:] == [("backup.make",), ("backup.restore",)]
    assert verify_audit(restored).sound


async def test_what_is_restored_has_the_same_rows(
    house: House, backup: Path, tmp_path: Path
) -> None:
    restored = tmp_path / "restored.db"
    manifest = restore(backup, house.clock, restored)
    for table in ("screen", "plan", "plan_event", "patient", "patient_id", "audit_seal"):
        everything = f"SELECT * FROM {table} ORDER BY 1, 2"  # noqa: S608
        assert sql_of(restored, everything) == sql_of(house.path, everything)
        assert manifest.rows[table] == rows_of(restored, table)


async def test_neither_overwrites_what_is_there(house: House, backup: Path, tmp_path: Path) -> None:
    with pytest.raises(FileExistsError):
        back_up(house.file, house.clock, backup)
    other = tmp_path / "other.db"
    other.write_bytes(b"something")
    with pytest.raises(FileExistsError, match="--replace"):
        restore(backup, house.clock, other)
    assert other.read_bytes() == b"something"
    restore(backup, house.clock, other, replace=True)
    assert rows_of(other, "screen") == SCREENS


async def test_a_record_that_is_served_is_not_replaced(house: House, backup: Path) -> None:
    await house.store.keep(house.new("H-9", 9))
    with pytest.raises(StoreInUse):
        restore(backup, house.clock, house.file, replace=True)
    assert rows_of(house.path, "screen") == SCREENS + 1


async def test_a_changed_backup_is_not_put_back(house: House, backup: Path, tmp_path: Path) -> None:
    sql_of(backup, "UPDATE screen SET status = 'withdrawn'")
    with pytest.raises(BadBackup, match="digest differs"):
        restore(backup, house.clock, tmp_path / "restored.db")
    assert not (tmp_path / "restored.db").exists()


async def test_a_backup_whose_manifest_was_fitted_to_it_fails_by_its_trail(
    house: House, backup: Path, tmp_path: Path
) -> None:
    sql_of(backup, "UPDATE audit SET body = CAST(replace(body, 'ok', 'no') AS BLOB)")
    _fit(backup)
    with pytest.raises(BadBackup, match="edited"):
        restore(backup, house.clock, tmp_path / "restored.db")


async def test_a_backup_cut_short_is_named_as_such(
    house: House, backup: Path, tmp_path: Path
) -> None:
    _cut(backup)
    _fit(backup)
    with pytest.raises(BadBackup, match="not a whole database"):
        restore(backup, house.clock, tmp_path / "restored.db")


async def test_a_backup_of_a_later_release_or_without_a_manifest_is_left(
    house: House, backup: Path, tmp_path: Path
) -> None:
    manifest = manifest_of(backup)
    told = json.loads(manifest.read_bytes())
    manifest.write_text(json.dumps(told | {"schema": "9999"}), encoding="utf-8")
    with pytest.raises(BadBackup, match="later release"):
        restore(backup, house.clock, tmp_path / "restored.db")
    manifest.write_text("no manifest", encoding="utf-8")
    with pytest.raises(BadBackup, match="manifest cannot be read"):
        restore(backup, house.clock, tmp_path / "restored.db")
    manifest.unlink()
    with pytest.raises(FileNotFoundError, match="made with the backup"):
        restore(backup, house.clock, tmp_path / "restored.db")
    with pytest.raises(FileNotFoundError):
        restore(tmp_path / "nowhere.db", house.clock, tmp_path / "restored.db")


async def test_a_record_with_a_changed_trail_is_not_backed_up_in_silence(
    house: House, tmp_path: Path
) -> None:
    await house.store.keep(house.new("H-1", 1))
    sql_of(house.path, "UPDATE audit SET body = CAST(replace(body, 'ok', 'no') AS BLOB)")
    with pytest.raises(BadBackup, match="edited"):
        back_up(house.file, house.clock, tmp_path / "copy.db")
    assert not (tmp_path / "copy.db").exists() and not _left(tmp_path)


def _fit(backup: Path) -> None:
    """Make the manifest true of the changed file, as whoever changed it would."""
    manifest = manifest_of(backup)
    told = json.loads(manifest.read_bytes()) | {"sha256": _digest(backup)}
    manifest.write_text(json.dumps(told), encoding="utf-8")
    assert set(told) == set(Manifest.__struct_fields__)


def _cut(backup: Path) -> None:
    backup.write_bytes(backup.read_bytes()[:9000])


def _left(folder: Path) -> list[Path]:
    """What an unfinished copy would leave."""
    return [*folder.glob("*.part"), *folder.glob("night.db-*"), *folder.glob("copy.db*")]


def _bytes(backup: Path) -> bytes:
    return backup.read_bytes()
