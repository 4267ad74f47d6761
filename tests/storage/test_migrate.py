"""Does a database of any age come to the tables of today, and an unknown one stay untouched?"""

import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import create_engine
from sqlmodel import SQLModel

import service.storage.tables  # noqa: F401 - fills the metadata
from service.domain.record import Principal
from service.domain.scope import EVERYTHING
from service.storage import migrate as module
from service.storage import statements_sqlite as sql
from service.storage.keys import create_key, list_keys
from service.storage.migrate import HEAD, NewerDatabase, migrate, version_of
from service.storage.store import open_store
from service.storage.verify import verify_audit
from tests.storage.made import MORNING, empty_record, sql_of

_SCHEMA = "SELECT type, name, sql FROM sqlite_master WHERE name NOT LIKE 'alembic%' ORDER BY name"


def schema_of(path: Path) -> list[tuple[str, str, str]]:
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute(_SCHEMA).fetchall()
    return [row for row in rows if "alembic" not in row[1]]


def test_an_empty_file_comes_to_exactly_the_tables(tmp_path: Path) -> None:
    migrate(tmp_path / "migrated.db")
    engine = create_engine(f"sqlite:///{tmp_path / 'tables.db'}")
    SQLModel.metadata.create_all(engine)
    engine.dispose()
    assert schema_of(tmp_path / "migrated.db") == schema_of(tmp_path / "tables.db")
    assert version_of(tmp_path / "migrated.db") == HEAD


def test_every_statement_runs_on_a_migrated_file(tmp_path: Path) -> None:
    migrate(tmp_path / "record.db")
    statements = [text for name, text in vars(sql).items() if name.isupper()]
    assert len(statements) > 30
    with closing(sqlite3.connect(tmp_path / "record.db")) as connection:
        for text in statements:
            named = dict.fromkeys(_named(text), 1)
            given = ["x"] * text.count("?") if "?" in text else named
            connection.execute(f"EXPLAIN {text}", given)


def _named(text: str) -> list[str]:
    return [word.strip(":,()") for word in text.replace("=:", " :").split() if ":" in word]


def test_down_and_up_again_leaves_the_same_tables(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    migrate(path)
    before = schema_of(path)
    migrate(path, "base")
    assert (version_of(path), schema_of(path)) == (None, [])
    migrate(path)
    assert schema_of(path) == before


def test_a_file_of_a_later_release_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    migrate(path)
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(NewerDatabase, match="later release"):
        migrate(path)


def test_the_newest_step_is_the_one_named_as_head() -> None:
    steps = (Path(module.__file__).parent / "versions").glob("v*.py")
    assert max(step.name[1:5] for step in steps) == HEAD


def test_a_start_on_a_current_file_loads_neither_alembic_nor_sqlalchemy(tmp_path: Path) -> None:
    path = tmp_path / "record.db"
    migrate(path)
    code = (
        "import asyncio, sys; from pathlib import Path; from datetime import UTC, datetime\n"
        "from service.storage.store import open_store; from service.storage import keys\n"
        "async def main():\n"
        f"    store = open_store(Path({str(path)!r}), lambda: datetime.now(UTC), str)\n"
        "    await store.start(); await store.check_writable(); await store.close()\n"
        "asyncio.run(main())\n"
        "heavy = {'alembic', 'sqlalchemy', 'sqlmodel', 'pydantic'}\n"
        "sys.exit(' '.join(sys.modules.keys() & heavy) or 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, timeout=60
    )
    assert (done.returncode, done.stderr.strip()) == (0, "")


async def test_a_record_of_the_first_release_comes_up_and_goes_back(tmp_path: Path) -> None:
    path = _kept("v0001.sql", tmp_path)
    with closing(sqlite3.connect(path)) as connection:
        before = connection.execute("SELECT * FROM credential ORDER BY id").fetchall()
    migrate(path)
    assert schema_of(path) == schema_of(empty_record(tmp_path / "new.db"))
    assert verify_audit(path).sound
    ward, *others = list_keys(path)
    assert (ward.scopes, ward.last_used) == (EVERYTHING, None)
    assert [key.name for key in others] == ["import", "old pharmacy"]
    store = open_store(path, lambda: MORNING, str)
    await store.start()
    found = await store.authenticate(f"000000000000.kept-secret-0-{'k' * 30}")
    await store.close()
    assert isinstance(found, Principal) and found.credential == ward.id
    migrate(path, "0001")
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT * FROM credential ORDER BY id").fetchall() == before


def test_a_key_with_few_scopes_is_revoked_on_the_way_back(tmp_path: Path) -> None:
    path = _kept("v0001.sql", tmp_path)
    migrate(path)
    (org,) = {key.org for key in list_keys(path)}
    made = create_key(path, lambda: MORNING, org, "board", scopes=["system/CarePlan.r"])
    migrate(path, "0001")
    migrate(path)
    kept = {key.name: key for key in list_keys(path)}
    assert kept["board"].id == made.info.id and kept["board"].revoked is not None
    assert kept["ward system"].revoked is None


@pytest.mark.parametrize("number", range(1, int(HEAD) + 1))
async def test_a_record_kept_of_each_release_comes_up_whole_and_goes_back_as_it_was(
    number: int, tmp_path: Path
) -> None:
    path = _kept(f"v{number:04}.sql", tmp_path)
    before = _rows_of(path)
    migrate(path)
    assert schema_of(path) == schema_of(empty_record(tmp_path / "new.db"))
    assert verify_audit(path).sound
    await _told_in_full(Path(shutil.copy(path, tmp_path / "served.db")))
    migrate(path, f"{number:04}")
    assert _rows_of(path) == before


@pytest.mark.parametrize("number", range(2, int(HEAD) + 1))
def test_a_record_kept_of_each_release_goes_back_to_the_first_and_comes_up_again(
    number: int, tmp_path: Path
) -> None:
    path = _kept(f"v{number:04}.sql", tmp_path)
    migrate(path)
    before = _rows_of(path)
    migrate(path, "0001")
    migrate(path)
    after = _rows_of(path)
    assert before.pop("credential") and after.pop("credential")  # told of above
    assert after == before
    assert verify_audit(path).sound


async def _told_in_full(path: Path) -> None:
    """Every screen and plan is read, and the clock finds every plan that is due, and no other."""
    (org,) = sql_of(path, "SELECT org FROM organisation")[0]
    store = open_store(path, lambda: MORNING, str)
    await store.start()
    screens = sql_of(path, "SELECT id, version FROM screen")
    told = [await store.screen(org, screen, version) for screen, version in screens]
    plans = [await store.plan(org, plan) for (plan,) in sql_of(path, "SELECT id FROM plan")]
    people = [await store.patient(org, one) for (one,) in sql_of(path, "SELECT id FROM patient")]
    await store.close()
    assert told and plans and people
    assert None not in (*told, *plans, *people)
    due = sql_of(path, "SELECT current_plan FROM patient WHERE current_until IS NOT NULL")
    assert sorted(due) == sql_of(path, _UNLAPSED)


_UNLAPSED = """
SELECT current_plan FROM patient WHERE current_plan IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM plan_event WHERE plan_event.plan = current_plan AND kind = 'lapsed'
) ORDER BY current_plan"""


def _rows_of(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """By table, every row in full; columns by their name."""
    names = sql_of(path, "SELECT name FROM sqlite_master WHERE type = 'table'")
    rows: dict[str, list[tuple[object, ...]]] = {}
    with closing(sqlite3.connect(path)) as connection:
        for (name,) in names:
            told = connection.execute(f"SELECT * FROM {name}")  # noqa: S608 - names of our own
            columns = [column[0] for column in told.description]
            rows[name] = sorted((tuple(zip(columns, row, strict=True)) for row in told), key=repr)
    return rows


def _kept(name: str, folder: Path) -> Path:
    """A database as that release wrote it, told as SQL."""
    path = folder / "kept.db"
    script = (Path(__file__).parent / "kept" / name).read_text(encoding="utf-8")
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(script)
    return path
