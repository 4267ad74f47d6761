"""Does a command on a server write all or nothing, and read one state?"""

import psycopg
import pytest

from service.storage import statements_sqlite as sql
from service.storage.place import Server
from service.storage.postgres.opened import short_read, short_write
from service.storage.rows import PatientIdRow
from tests.storage.made import rows_of


def test_a_command_that_fails_leaves_nothing(server: Server) -> None:
    row = PatientIdRow("o", "s", "v", "p")
    with pytest.raises(KeyError), short_write(server) as connection:
        connection.execute(sql.ENSURE_PATIENT_ID, row)
        raise KeyError
    assert rows_of(server, "patient_id") == 0
    with short_write(server) as connection:
        connection.execute(sql.ENSURE_PATIENT_ID, row)
    assert rows_of(server, "patient_id") == 1


def test_a_reading_sees_one_state_and_cannot_write(server: Server) -> None:
    row = PatientIdRow("o", "s", "v", "p")
    with short_read(server) as reading:
        before = reading.execute(sql.PATIENT_ID, {"org": "o", "system": "s", "value": "v"})
        assert before.fetchone() is None
        with short_write(server) as connection:
            connection.execute(sql.ENSURE_PATIENT_ID, row)
        after = reading.execute(sql.PATIENT_ID, {"org": "o", "system": "s", "value": "v"})
        assert after.fetchone() is None
        with pytest.raises(psycopg.Error):
            reading.execute(sql.ENSURE_PATIENT_ID, row)
