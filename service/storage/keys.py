"""Which API keys are there, and how are they made, replaced and ended?

A key is ``prefix.secret``. The record keeps the hash of the secret only; the key is shown once,
when it is made.
"""

import secrets
import sqlite3
from collections.abc import Iterable
from datetime import datetime, timedelta

from msgspec import Struct

from service.application.ports import Clock
from service.domain.scope import EVERYTHING, checked
from service.storage import statements_sqlite as sql
from service.storage.commanded import audit_command
from service.storage.connection import short_read, short_write
from service.storage.ids import TimeOrderedIds
from service.storage.keyring import hash_of
from service.storage.place import Place
from service.storage.rows import CredentialRow
from service.storage.times import from_micros, to_micros

_PREFIX_BYTES = 6
_SECRET_BYTES = 32


class KeyInfo(Struct, frozen=True):
    """What may be shown of a key. ``last_used``: the day it was last used on, to that day's
    first use."""

    id: str
    org: str
    name: str
    prefix: str
    created: datetime
    expires: datetime | None
    revoked: datetime | None
    scopes: str
    last_used: datetime | None

    def holds(self, now: datetime) -> bool:
        return self.revoked is None and (self.expires is None or now < self.expires)


class NewKey(Struct, frozen=True):
    """``key`` is nowhere else: show it now or never."""

    info: KeyInfo
    key: str


def create_key(
    path: Place,
    clock: Clock,
    org: str,
    name: str,
    expires: datetime | None = None,
    scopes: Iterable[str] = (EVERYTHING,),
) -> NewKey:
    """Raises LookupError where there is no such organisation, ValueError."""
    if not name.strip():
        raise ValueError("A key needs a name that says who uses it.")
    row, secret = _drawn(clock, org, name.strip(), checked(scopes), expires)
    with short_write(path) as connection:
        if connection.execute(sql.ORGANISATION, {"org": org}).fetchone() is None:
            raise LookupError(f"There is no organisation {org}.")
        connection.execute(sql.INSERT_CREDENTIAL, row)
        audit_command(connection, clock, org, "key.create", row.id)
    return NewKey(_shown(row), f"{row.prefix}.{secret}")


def rotate_key(
    path: Place, clock: Clock, key_id: str, overlap: timedelta, expires: datetime | None = None
) -> NewKey:
    """A new key with the name and the scopes of ``key_id``, which ends after ``overlap``.

    Without ``expires`` the new one is good for as long as the old one was made for. Raises
    LookupError, ValueError where the old one does not hold any more.
    """
    now = clock()
    if overlap < timedelta():
        raise ValueError("An overlap cannot be negative.")
    with short_write(path) as connection:
        old = _found(connection, key_id)
        shown = _shown(old)
        if not shown.holds(now):
            raise ValueError("This key has ended already: make a new one.")
        if expires is None and shown.expires is not None:
            expires = now + (shown.expires - shown.created)
        row, secret = _drawn(clock, old.org, old.name, old.scopes, expires)
        connection.execute(sql.INSERT_CREDENTIAL, row)
        audit_command(connection, clock, old.org, "key.create", row.id)
        end = to_micros(now + overlap)
        end = end if old.expires is None else min(end, old.expires)
        connection.execute(sql.END_CREDENTIAL, {"of_id": old.id, "at": end})
        audit_command(connection, clock, old.org, "key.rotate", old.id)
    return NewKey(_shown(row), f"{row.prefix}.{secret}")


def list_keys(path: Place, org: str | None = None) -> tuple[KeyInfo, ...]:
    """All keys, or those of one organisation."""
    with short_read(path) as connection:
        rows = [CredentialRow(*row) for row in connection.execute(sql.CREDENTIALS)]
    return tuple(_shown(row) for row in rows if org in (None, row.org))


def revoke_key(path: Place, clock: Clock, key_id: str) -> KeyInfo:
    """From now on, within a minute, the key opens nothing. Raises LookupError."""
    with short_write(path) as connection:
        row = _found(connection, key_id)
        if row.revoked is None:
            row = row._replace(revoked=to_micros(clock()))
            connection.execute(sql.REVOKE_CREDENTIAL, {"of_id": key_id, "at": row.revoked})
            audit_command(connection, clock, row.org, "key.revoke", key_id)
    return _shown(row)


def _found(connection: sqlite3.Connection, key_id: str) -> CredentialRow:
    found = connection.execute(sql.CREDENTIAL_BY_ID, {"id": key_id}).fetchone()
    if found is None:
        raise LookupError(f"There is no key {key_id}.")
    return CredentialRow(*found)


def _drawn(
    clock: Clock, org: str, name: str, scopes: str, expires: datetime | None
) -> tuple[CredentialRow, str]:
    now = clock()
    if expires is not None and expires <= now:
        raise ValueError("The key would have expired already.")
    secret = secrets.token_urlsafe(_SECRET_BYTES)
    row = CredentialRow(
        id=TimeOrderedIds(clock)(),
        org=org,
        name=name,
        prefix=secrets.token_hex(_PREFIX_BYTES),
        hash=hash_of(secret),
        created=to_micros(now),
        expires=None if expires is None else to_micros(expires),
        revoked=None,
        scopes=scopes,
        last_used=None,
    )
    return row, secret


def _shown(row: CredentialRow) -> KeyInfo:
    return KeyInfo(
        id=row.id,
        org=row.org,
        name=row.name,
        prefix=row.prefix,
        created=from_micros(row.created),
        expires=None if row.expires is None else from_micros(row.expires),
        revoked=None if row.revoked is None else from_micros(row.revoked),
        scopes=row.scopes,
        last_used=None if row.last_used is None else from_micros(row.last_used),
    )
