"""Is a role found that may do too much or too little, and one let in that was named later?"""

from collections.abc import Iterator
from contextlib import contextmanager

import psycopg
import pytest
from psycopg.conninfo import make_conninfo

from service.storage.migrate import migrate
from service.storage.place import Server
from service.storage.postgres.roles import faults_of, reader_of
from tests.storage.servers import READER

NOT_HELD = "The server does not hold this role to one organisation"


@contextmanager
def role(server: Server, name: str, *may: str) -> Iterator[str]:
    """The address of a role of its own."""
    with psycopg.connect(server.write, autocommit=True) as connection:
        connection.execute(f"CREATE ROLE {name} LOGIN {' '.join(may)}".encode())
        try:
            yield make_conninfo(server.write, user=name)
        finally:
            connection.execute(f"DROP OWNED BY {name}".encode())
            connection.execute(f"DROP ROLE {name}".encode())


def test_the_roles_of_the_handbook_have_no_fault(server: Server) -> None:
    assert reader_of(server) == READER
    assert list(faults_of(server)) == []
    assert reader_of(Server(server.write)) is None
    assert list(faults_of(Server(server.write))) == []


@pytest.mark.parametrize("may", ["SUPERUSER", "BYPASSRLS"])
def test_a_reader_that_no_row_is_kept_from_is_found(server: Server, may: str) -> None:
    with role(server, f"too_much_{may.lower()}", may) as address:
        held = Server(server.write, address)
        migrate(held)
        ((setting, fault),) = faults_of(held)
    assert setting == "postgres_read" and fault.startswith(NOT_HELD)


def test_the_owner_as_reader_is_found(server: Server) -> None:
    ((setting, fault),) = faults_of(Server(server.write, server.write))
    assert setting == "postgres_read" and fault.startswith(NOT_HELD)


def test_a_reader_named_after_the_tables_were_made_is_let_in_by_the_next_migration(
    server: Server,
) -> None:
    with role(server, "named_later") as address:
        held = Server(server.write, address)
        ((_, fault),) = faults_of(held)
        assert "may not read all tables" in fault
        migrate(held)
        assert list(faults_of(held)) == []
        with psycopg.connect(address) as reading:
            assert reading.execute("SELECT count(*) FROM screen").fetchone() == (0,)
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                reading.execute("DELETE FROM screen")


def test_an_owner_that_may_make_no_tables_is_found(server: Server) -> None:
    ((setting, fault),) = faults_of(Server(make_conninfo(server.write, user=READER)))
    assert (setting, fault) == ("postgres", "The role may not make tables in its schema.")


def test_a_server_that_is_not_there_is_a_fault_of_each_address() -> None:
    nowhere = "host=127.0.0.1 port=1 dbname=none user=me"
    assert [name for name, _ in faults_of(Server(nowhere, nowhere))] == [
        "postgres",
        "postgres_read",
    ]
