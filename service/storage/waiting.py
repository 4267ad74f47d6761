"""How much waits to be delivered, and since when?"""

import sqlite3
from datetime import datetime
from uuid import UUID

from service.storage import statements_sqlite as sql
from service.storage.times import from_micros

_AFTER_TIME = 80
"""Bits of a UUIDv7 behind its milliseconds."""


def outbox_waiting(connection: sqlite3.Connection) -> tuple[int, datetime | None]:
    """How many entries are undelivered, and when the oldest was made: its id says so."""
    count, oldest = connection.execute(sql.OUTBOX_WAITING).fetchone()
    if oldest is None:
        return count, None
    return count, from_micros((UUID(oldest).int >> _AFTER_TIME) * 1000)
