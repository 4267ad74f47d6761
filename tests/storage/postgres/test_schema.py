"""Does the server itself keep each reading to one organisation, and the reader from writing?"""

import psycopg
import pytest
from sqlmodel import SQLModel

from service.storage.migrate import HEAD, migrate, version_of
from service.storage.place import Server
from service.storage.postgres.schema import _OF_ALL
from tests.storage.made import House, sql_of
from tests.storage.servers import READER, empty_database


async def test_the_reader_sees_the_rows_of_the_organisation_it_named_and_no_other(
    house: House,
) -> None:
    assert isinstance(house.path, Server) and house.path.read is not None
    await house.store.keep(house.new("H-1", 1))
    tables = sorted(set(SQLModel.metadata.tables) - set(_OF_ALL))
    with psycopg.connect(house.path.read) as reading:
        for org, seen in ((house.by.org, True), ("another", False), ("", False)):
            reading.execute("SELECT set_config('app.org', %s, true)", (org,))
            for name in tables:
                counted = f'SELECT count(*) FROM "{name}"'  # noqa: S608
                rows = reading.execute(counted.encode()).fetchone()
                filled = sql_of(house.path, counted) != [(0,)]
                assert rows is not None
                assert (rows[0] > 0) == (seen and filled), (name, org)


async def test_who_names_no_organisation_sees_nothing(house: House) -> None:
    assert isinstance(house.path, Server) and house.path.read is not None
    await house.store.keep(house.new("H-1", 1))
    with psycopg.connect(house.path.read) as reading:
        assert reading.execute("SELECT count(*) FROM screen").fetchone() == (0,)


@pytest.mark.parametrize(
    "statement",
    ["DELETE FROM screen", "UPDATE patient SET rev = 0", "DROP TABLE audit", "TRUNCATE plan"],
)
def test_the_reader_cannot_write(server: Server, statement: str) -> None:
    assert server.read is not None
    with psycopg.connect(server.read) as reading, pytest.raises(psycopg.Error):
        reading.execute(statement.encode())


def test_an_empty_database_comes_to_the_tables_and_goes_back_to_nothing() -> None:
    with empty_database() as server:
        assert version_of(server) is None
        migrate(server)
        assert version_of(server) == HEAD
        migrate(server)
        columns = "SELECT table_name, column_name FROM information_schema.columns"
        found = set(sql_of(server, f"{columns} WHERE table_schema = 'public'"))
        named = {(n, c.name) for n, t in SQLModel.metadata.tables.items() for c in t.columns}
        assert found == named | {("alembic_version", "version_num")}
        migrate(server, "base")
        tables = "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'"
        assert sql_of(server, tables) == [(1,)]


def test_the_indexes_are_those_of_the_tables(server: Server) -> None:
    found = {row[0] for row in sql_of(server, "SELECT indexname FROM pg_indexes")}
    named = {each.name for table in SQLModel.metadata.tables.values() for each in table.indexes}
    assert named <= found


def test_texts_are_ordered_by_their_bytes(server: Server) -> None:
    other = sql_of(
        server,
        "SELECT table_name, column_name FROM information_schema.columns WHERE table_schema ="
        " 'public' AND data_type = 'text' AND coalesce(collation_name, '') <> 'C'",
    )
    assert other == []
    assert READER == "stanchion_read"
