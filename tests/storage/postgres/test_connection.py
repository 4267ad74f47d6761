"""Is each statement sent as its twin, and does a reading stay inside one organisation?"""

import pytest

from service.storage import statements_postgres, statements_sqlite
from service.storage.place import Server
from service.storage.postgres.connection import (
    TWIN,
    Connection,
    ReadConnection,
    TwoOrganisations,
    connected,
)
from service.storage.rows import PatientIdRow


def test_every_statement_has_a_twin_of_its_name() -> None:
    names = [name for name in dir(statements_sqlite) if name.isupper()]
    assert names == [name for name in dir(statements_postgres) if name.isupper()]
    assert {TWIN[getattr(statements_sqlite, name)] for name in names} == {
        getattr(statements_postgres, name) for name in names
    }


def test_rows_go_in_and_come_out_by_the_statements_of_the_file(server: Server) -> None:
    connection = Connection(connected(server.write))
    rows = [PatientIdRow("o", "s", f"v-{number}", "p") for number in range(3)]
    connection.executemany(statements_sqlite.ENSURE_PATIENT_ID, rows)
    connection.executemany(statements_sqlite.ENSURE_PATIENT_ID, [])
    named = {"org": "o", "system": "s", "value": "v-2"}
    assert connection.execute(statements_sqlite.PATIENT_ID, named).fetchone() == ("p",)
    before = connection.in_transaction
    connection.execute("BEGIN")
    assert (before, connection.in_transaction) == (False, True)
    connection.close()


def test_a_reading_of_two_organisations_is_stopped(server: Server) -> None:
    assert server.read is not None
    connection = ReadConnection(connected(server.read))
    connection.begin()
    connection.execute(statements_sqlite.PATIENT, {"org": "a", "id": "x"})
    connection.execute(statements_sqlite.PATIENT, {"org": "a", "id": "y"})
    with pytest.raises(TwoOrganisations):
        connection.execute(statements_sqlite.PATIENT, {"org": "b", "id": "x"})
    connection.close()
