"""Is the server's word told where it is of the place, and kept back where it may quote a row?"""

import psycopg
import pytest
from sqlalchemy import create_engine
from sqlalchemy.exc import SQLAlchemyError

from service.storage.place import Server
from service.storage.postgres.told import told
from tests.storage.servers import READER


def test_a_server_that_is_not_there_is_told_in_one_line() -> None:
    with pytest.raises(psycopg.OperationalError) as raised:
        psycopg.connect("host=127.0.0.1 port=1 user=me password=a-secret dbname=none")
    said = told(raised.value)
    assert said is not None and "cannot be used: connection failed" in said
    assert "\n" not in said and "a-secret" not in said


def test_what_a_role_may_not_do_is_told_also_through_the_tools(server: Server) -> None:
    assert server.read is not None
    address = server.read
    engine = create_engine("postgresql+psycopg://", creator=lambda: psycopg.connect(address))
    with pytest.raises(SQLAlchemyError) as raised, engine.connect() as connection:
        connection.exec_driver_sql("DELETE FROM screen")
    engine.dispose()
    said = "The PostgreSQL server cannot be used: permission denied for table screen"
    assert told(raised.value) == said
    assert READER not in said


def test_what_may_hold_a_value_is_not_told(server: Server) -> None:
    with psycopg.connect(server.write) as connection:
        insert = "INSERT INTO patient_id VALUES ('o', 's', 'H-1007', 'p')"
        connection.execute(insert)
        with pytest.raises(psycopg.errors.UniqueViolation) as raised:
            connection.execute(insert)
    assert told(raised.value) is None
    assert told(ValueError("H-1007")) is None
