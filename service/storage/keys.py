"""Which API keys are there, and whose is the one that was presented?

A key is ``prefix.secret``. The secret has 256 random bits, so its plain SHA-256 can be kept:
there is nothing to guess. The key is shown once, when it is made.
"""

import hashlib
import hmac
import secrets
import sqlite3
from datetime import datetime, timedelta
from pathlib import Path

from msgspec import Struct

from service.application.ports import Clock
from service.domain.record import Principal
from service.storage import statements_sqlite as sql
from service.storage.commanded import audit_command
from service.storage.connection import short_read, short_write
from service.storage.ids import TimeOrderedIds
from service.storage.rows import CredentialRow
from service.storage.times import from_micros, to_micros

_PREFIX_BYTES = 6
_SECRET_BYTES = 32
_LONGEST_KEY = 200
_REMEMBERED_FOR = timedelta(seconds=60)
_MOST_REMEMBERED = 1024


class KeyInfo(Struct, frozen=True):
    """What may be shown of a key."""

    id: str
    org: str
    name: str
    prefix: str
    created: datetime
    expires: datetime | None
    revoked: datetime | None


class NewKey(Struct, frozen=True):
    """``key`` is nowhere else: show it now or never."""

    info: KeyInfo
    key: str


def create_key(
    path: Path, clock: Clock, org: str, name: str, expires: datetime | None = None
) -> NewKey:
    """Raises LookupError where there is no such organisation, ValueError."""
    now = clock()
    if not name.strip():
        raise ValueError("A key needs a name that says who uses it.")
    if expires is not None and expires <= now:
        raise ValueError("The key would have expired already.")
    prefix, secret = secrets.token_hex(_PREFIX_BYTES), secrets.token_urlsafe(_SECRET_BYTES)
    row = CredentialRow(
        id=TimeOrderedIds(clock)(),
        org=org,
        name=name.strip(),
        prefix=prefix,
        hash=_hash(secret),
        created=to_micros(now),
        expires=None if expires is None else to_micros(expires),
        revoked=None,
    )
    with short_write(path) as connection:
        if connection.execute(sql.ORGANISATION, {"org": org}).fetchone() is None:
            raise LookupError(f"There is no organisation {org}.")
        connection.execute(sql.INSERT_CREDENTIAL, row)
        audit_command(connection, clock, org, "key.create", row.id)
    return NewKey(_shown(row), f"{prefix}.{secret}")


def list_keys(path: Path, org: str | None = None) -> tuple[KeyInfo, ...]:
    """All keys, or those of one organisation."""
    with short_read(path) as connection:
        rows = [CredentialRow(*row) for row in connection.execute(sql.CREDENTIALS)]
    return tuple(_shown(row) for row in rows if org in (None, row.org))


def revoke_key(path: Path, clock: Clock, key_id: str) -> KeyInfo:
    """From now on, within a minute, the key opens nothing. Raises LookupError."""
    with short_write(path) as connection:
        found = connection.execute(sql.CREDENTIAL_BY_ID, {"id": key_id}).fetchone()
        if found is None:
            raise LookupError(f"There is no key {key_id}.")
        row = CredentialRow(*found)
        if row.revoked is None:
            row = row._replace(revoked=to_micros(clock()))
            connection.execute(sql.REVOKE_CREDENTIAL, {"of_id": key_id, "at": row.revoked})
            audit_command(connection, clock, row.org, "key.revoke", key_id)
    return _shown(row)


class Keyring:
    """Answers whose a presented key is; remembers a good one for a minute at most."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._remembered: dict[bytes, tuple[datetime, CredentialRow]] = {}

    def remembered(self, key: str) -> Principal | None:
        """Whose key it is, if it was looked up within the last minute and still holds."""
        now = self._clock()
        seen, row = self._remembered.get(_hash(key), (None, None))
        if seen is None or row is None or not timedelta() <= now - seen < _REMEMBERED_FOR:
            return None
        return _principal(row) if _holds(row, now) else None

    def look_up(self, connection: sqlite3.Connection, key: str) -> Principal | None:
        """Whose key it is, by the record."""
        prefix, _, secret = key.partition(".")
        found = connection.execute(sql.CREDENTIAL, {"prefix": prefix}).fetchone()
        row = None if found is None else CredentialRow(*found)
        # A hash is compared even where no key has the prefix, so that both take the same time.
        same = hmac.compare_digest(_hash(secret), row.hash if row else bytes(32))
        now = self._clock()
        if row is None or not same or not _holds(row, now):
            return None
        if len(self._remembered) >= _MOST_REMEMBERED:
            self._remembered.clear()
        self._remembered[_hash(key)] = (now, row)
        return _principal(row)


def well_formed(key: str) -> bool:
    """Whether it could be a key at all."""
    return len(key) <= _LONGEST_KEY and key.isascii() and "." in key


def _holds(row: CredentialRow, now: datetime) -> bool:
    return row.revoked is None and (row.expires is None or to_micros(now) < row.expires)


def _principal(row: CredentialRow) -> Principal:
    return Principal(row.org, row.id, row.name)


def _hash(text: str) -> bytes:
    return hashlib.sha256(text.encode()).digest()


def _shown(row: CredentialRow) -> KeyInfo:
    return KeyInfo(
        row.id,
        row.org,
        row.name,
        row.prefix,
        from_micros(row.created),
        None if row.expires is None else from_micros(row.expires),
        None if row.revoked is None else from_micros(row.revoked),
    )
