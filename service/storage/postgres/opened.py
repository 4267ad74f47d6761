"""How do commands open the record on a PostgreSQL server?"""

from collections.abc import Iterator
from contextlib import contextmanager

from service.storage.place import Server
from service.storage.postgres.connection import Connection, connected
from service.storage.postgres.engine import lock

_READ = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"


@contextmanager
def short_write(server: Server) -> Iterator[Connection]:
    """One transaction, while no serving process writes."""
    connection = Connection(connected(server.write))
    try:
        connection.execute("BEGIN")
        lock(connection, None)
        yield connection
        connection.execute("COMMIT")
    finally:
        connection.close()


@contextmanager
def short_read(server: Server) -> Iterator[Connection]:
    """One consistent reading, over all organisations."""
    connection = Connection(connected(server.write))
    try:
        connection.execute(_READ)
        yield connection
    finally:
        connection.close()
