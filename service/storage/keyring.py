"""Whose is the API key that was presented, and if nobody's, why?"""

import hashlib
import hmac
import sqlite3
from collections.abc import Callable
from contextlib import suppress
from datetime import date, datetime, timedelta

from service.application.ports import Clock
from service.domain.problem import Unavailable
from service.domain.record import Principal, Refusal
from service.domain.scope import granted
from service.storage import statements_sqlite as sql
from service.storage.batch import Batch
from service.storage.reader import Reader
from service.storage.rows import CredentialRow
from service.storage.times import from_micros, to_micros
from service.storage.writer import Writer

LONGEST_KEY = 200
UNKNOWN = "This API key is not known, has run out or was revoked."

_REMEMBERED_FOR = timedelta(seconds=60)
_MOST_REMEMBERED = 1024

_Known = tuple[datetime, CredentialRow, Principal]


class Keyring:
    """Remembers a good key for a minute at most."""

    def __init__(self, clock: Clock, reader: Reader, writer: Writer) -> None:
        self._clock = clock
        self._reader = reader
        self._writer = writer
        self._remembered: dict[bytes, _Known] = {}
        self._used: dict[str, date] = {}

    async def authenticate(self, key: str) -> Principal | Refusal:
        """Whose key it is, or why it opens nothing: the caller is told the same each time."""
        if not _well_formed(key):
            return Refusal("unknown_key", UNKNOWN)
        known = self._known(key)
        if known is not None:
            return known
        found = await self._reader.one(lambda connection: self._look_up(connection, key))
        if isinstance(found, Principal) and self._first_today(found.credential):
            with suppress(Unavailable):  # nobody is turned away because this cannot be written
                await self._writer.submit(lambda batch: _used(batch, found.credential))
        return found

    def _known(self, key: str) -> Principal | None:
        """Whose key it is, if it was looked up within the last minute and still holds."""
        now = self._clock()
        known = self._remembered.get(hash_of(key))
        if known is None:
            return None
        seen, row, principal = known
        if not timedelta() <= now - seen < _REMEMBERED_FOR or _fault(row, now):
            return None
        return principal

    def _look_up(self, connection: sqlite3.Connection, key: str) -> Principal | Refusal:
        """Whose key it is, by the record."""
        prefix, _, secret = key.partition(".")
        found = connection.execute(sql.CREDENTIAL, {"prefix": prefix}).fetchone()
        row = None if found is None else CredentialRow(*found)
        # A hash is compared even where no key has the prefix, so that both take the same time.
        same = hmac.compare_digest(hash_of(secret), row.hash if row else bytes(32))
        if row is None:
            return Refusal("unknown_key", UNKNOWN)
        principal = Principal(row.org, row.id, row.name, granted(row.scopes))
        now = self._clock()
        fault = _fault(row, now) if same else "wrong_secret"
        if fault:
            return Refusal(fault, UNKNOWN, principal)
        self._remember(key, (now, row, principal))
        return principal

    def _first_today(self, credential: str) -> bool:
        """Whether a key that was just looked up has not been used today; says so once."""
        today = self._clock().date()
        first = self._used.get(credential) != today
        self._used[credential] = today
        return first

    def _remember(self, key: str, known: _Known) -> None:
        if len(self._remembered) >= _MOST_REMEMBERED:
            self._remembered.clear()
            self._used.clear()
        self._remembered[hash_of(key)] = known
        row = known[1]
        if row.last_used is not None:
            self._used[row.id] = from_micros(row.last_used).date()


def _well_formed(key: str) -> bool:
    """Whether it could be a key at all."""
    return len(key) <= LONGEST_KEY and key.isascii() and "." in key


def _used(batch: Batch, credential: str) -> Callable[[], None]:
    batch.connection.execute(sql.USE_CREDENTIAL, {"of_id": credential, "at": batch.at})
    return lambda: None


def hash_of(text: str) -> bytes:
    """The secret has 256 random bits, so plain SHA-256 will do: there is nothing to guess."""
    return hashlib.sha256(text.encode()).digest()


def _fault(row: CredentialRow, now: datetime) -> str:
    """Why the key opens nothing at ``now``; empty where it does."""
    if row.revoked is not None:
        return "revoked_key"
    if row.expires is not None and to_micros(now) >= row.expires:
        return "expired_key"
    return ""
