"""Does everything that a command writes say what its source says today?"""

from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import create_engine, text
from sqlmodel import SQLModel

import service.storage.tables  # noqa: F401 - fills the metadata
from service.commands import openapi, rules_docs
from service.rules.load import load_book
from service.storage import generate
from service.storage.migrate import migrate
from tests.house.tree import ROOT


def test_the_openapi_document_is_current() -> None:
    assert openapi.is_current(ROOT / "openapi" / "openapi.json"), "run: poe openapi"


def test_a_stale_openapi_document_is_found(tmp_path: Path) -> None:
    stale = tmp_path / "openapi.json"
    assert not openapi.is_current(stale)
    stale.write_text(openapi.text().replace("3.1.0", "3.0.0", 1), encoding="utf-8")
    assert not openapi.is_current(stale)


def test_the_pages_of_the_rule_book_are_current() -> None:
    stale = rules_docs.outdated(ROOT / "docs" / "rules", rules_docs.pages(load_book()))
    assert stale == [], "run: stanchion rules docs"


@pytest.mark.parametrize("path", generate.generated(), ids=lambda path: path.name)
def test_a_file_generated_from_the_tables_is_current(path: Path) -> None:
    assert path.read_text(encoding="utf-8") == generate.generated()[path], "run: poe statements"


def difference(path: Path, statement: str) -> list[object]:
    engine = create_engine(f"sqlite:///{path}")
    try:
        with engine.begin() as connection:
            connection.execute(text(statement))
            context = MigrationContext.configure(connection, opts={"compare_type": True})
            return list(compare_metadata(context, SQLModel.metadata))
    finally:
        engine.dispose()


def test_the_migrations_end_in_the_tables_of_today(tmp_path: Path) -> None:
    migrate(tmp_path / "a.db")
    assert difference(tmp_path / "a.db", "SELECT 1") == []


def test_a_column_that_no_migration_knows_is_found(tmp_path: Path) -> None:
    migrate(tmp_path / "a.db")
    assert difference(tmp_path / "a.db", "ALTER TABLE patient ADD COLUMN shoe TEXT") != []
