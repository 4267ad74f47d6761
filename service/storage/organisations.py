"""Which organisations are there, and how does one come to be?"""

import secrets
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from msgspec import Struct

from service.application.ports import Clock
from service.storage import statements_sqlite as sql
from service.storage.commanded import audit_command
from service.storage.connection import short_read, short_write
from service.storage.documents import OrganisationSettings, encode
from service.storage.ids import TimeOrderedIds
from service.storage.rows import OrganisationRow
from service.storage.times import from_micros, to_micros

_KEY_BYTES = 32


class Organisation(Struct, frozen=True):
    org: str
    name: str
    time_zone: str
    created: datetime


def create_organisation(path: Path, clock: Clock, name: str, time_zone: str) -> Organisation:
    """A new one with a key of its own for patient ids. Raises ValueError."""
    if not name.strip():
        raise ValueError("An organisation needs a name.")
    try:
        ZoneInfo(time_zone)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise ValueError(
            f"{time_zone!r} is no time zone; say for example Europe/Dublin."
        ) from error
    now = clock()
    row = OrganisationRow(
        org=TimeOrderedIds(clock)(),
        name=name.strip(),
        time_zone=time_zone,
        settings=encode(OrganisationSettings()),
        patient_key=secrets.token_bytes(_KEY_BYTES),
        created=to_micros(now),
    )
    with short_write(path) as connection:
        connection.execute(sql.INSERT_ORGANISATION, row)
        audit_command(connection, clock, row.org, "organisation.create", row.org)
    return _shown(row)


def list_organisations(path: Path) -> tuple[Organisation, ...]:
    """All of them, the oldest first."""
    with short_read(path) as connection:
        rows = connection.execute(sql.ORGANISATIONS).fetchall()
    return tuple(_shown(OrganisationRow(*row)) for row in rows)


def _shown(row: OrganisationRow) -> Organisation:
    return Organisation(row.org, row.name, row.time_zone, from_micros(row.created))
