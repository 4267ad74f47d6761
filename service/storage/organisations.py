"""Which organisations are there, and how does one come to be?"""

import secrets
import sqlite3
from datetime import datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from msgspec import Struct
from msgspec.structs import replace

from service.application.ports import Clock
from service.domain.context import Setting
from service.domain.units import Units
from service.storage import statements_sqlite as sql
from service.storage.commanded import audit_command
from service.storage.connection import short_read, short_write
from service.storage.documents import OrganisationSettings, Overlay, decode_settings, encode
from service.storage.ids import TimeOrderedIds
from service.storage.place import Place
from service.storage.rows import OrganisationRow
from service.storage.times import from_micros, to_micros

_KEY_BYTES = 32


class Organisation(Struct, frozen=True):
    """``overlay``: its own numbers over the rule book; None where the service's own hold.
    ``setting``: of a screen that does not say it; None where that is acute."""

    org: str
    name: str
    time_zone: str
    created: datetime
    overlay: Overlay | None = None
    setting: Setting | None = None
    units: Units = Units.SI


def create_organisation(path: Place, clock: Clock, name: str, time_zone: str) -> Organisation:
    """A new one with a key of its own for patient ids. Raises ValueError."""
    row = OrganisationRow(
        org=TimeOrderedIds(clock)(),
        name=_name(name),
        time_zone=_zone(time_zone),
        settings=encode(OrganisationSettings()),
        patient_key=secrets.token_bytes(_KEY_BYTES),
        created=to_micros(clock()),
    )
    with short_write(path) as connection:
        connection.execute(sql.INSERT_ORGANISATION, row)
        audit_command(connection, clock, row.org, "organisation.create", row.org)
    return _shown(row)


def set_organisation(path: Place, clock: Clock, changed: Organisation) -> Organisation:
    """Keep what ``changed`` has but for its id; the overlay must have been checked. A service that
    runs takes it up when it starts anew. Raises LookupError, ValueError.
    """
    with short_write(path) as connection:
        row = _found(connection, changed.org)
        settings = decode_settings(row.settings)
        settings = replace(
            settings, overlay=changed.overlay, setting=changed.setting, units=changed.units
        )
        row = row._replace(
            name=_name(changed.name),
            time_zone=_zone(changed.time_zone),
            settings=encode(settings),
        )
        connection.execute(sql.SET_ORGANISATION, row._asdict() | {"of_org": row.org})
        audit_command(connection, clock, row.org, "organisation.set", row.org)
    return _shown(row)


def read_organisation(path: Place, org: str) -> Organisation:
    """Raises LookupError."""
    with short_read(path) as connection:
        return _shown(_found(connection, org))


def list_organisations(path: Place) -> tuple[Organisation, ...]:
    """All of them, the oldest first."""
    with short_read(path) as connection:
        rows = connection.execute(sql.ORGANISATIONS).fetchall()
    return tuple(_shown(OrganisationRow(*row)) for row in rows)


def _found(connection: sqlite3.Connection, org: str) -> OrganisationRow:
    found = connection.execute(sql.ORGANISATION, {"org": org}).fetchone()
    if found is None:
        raise LookupError(f"There is no organisation {org}.")
    return OrganisationRow(*found)


def _name(name: str) -> str:
    if not name.strip():
        raise ValueError("An organisation needs a name.")
    return name.strip()


def _zone(time_zone: str) -> str:
    try:
        ZoneInfo(time_zone)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise ValueError(
            f"{time_zone!r} is no time zone; say for example Europe/Dublin."
        ) from error
    return time_zone


def _shown(row: OrganisationRow) -> Organisation:
    settings = decode_settings(row.settings)
    return Organisation(
        row.org,
        row.name,
        row.time_zone,
        from_micros(row.created),
        settings.overlay,
        settings.setting,
        settings.units,
    )
