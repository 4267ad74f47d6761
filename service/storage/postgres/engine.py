"""How does the writer write to PostgreSQL, with other processes writing beside it?

Before anything is read, a transaction takes one lock for each organisation it writes of, in one
order. So the writes of an organisation come one after the other, as they do in a file, and those
of different organisations side by side; no two transactions can wait for each other.
"""

import hashlib
import logging
from contextlib import suppress
from typing import Any

import psycopg

from service.storage import statements_sqlite as sql
from service.storage.chain import SERVING, Head
from service.storage.engine import Orgs
from service.storage.postgres.connection import Connection, connected
from service.storage.rows import AuditRow, OrganisationRow

_LOG = logging.getLogger("stanchion.storage")

# The first key of all our locks; the second is 0 for all organisations, or one's own.
LOCKS = 0x57A9
_ALL = 0
_SHARED = "SELECT pg_advisory_xact_lock_shared(%s, %s)"
_EXCLUSIVE = "SELECT pg_advisory_xact_lock(%s, %s)"
_WAIT = "SET LOCAL lock_timeout = '10s'"
_NUMBER = "SELECT pg_current_xact_id()::text"
_OUTCOME = "SELECT pg_xact_status(%s::xid8)"
_NOT_REPLICATED = "canceling wait for synchronous replication"


class NotReplicated(Exception):
    """The transaction is on this server's disk, but its standby did not say so."""


class OutcomeUnknown(Exception):
    """The connection was lost in the commit, and the server cannot say what became of it."""


class PostgresEngine:
    alone = False
    quick = False

    def __init__(self, address: str) -> None:
        self._address = address
        self._warned = False
        self._number = ""
        self.connection = self._connected()

    def begin_at_once(self) -> bool:
        return False

    def begin(self, orgs: Orgs) -> None:
        if self.connection.raw.closed:
            self.connection = self._connected()
        self._warned = False
        self.connection.execute("BEGIN")
        try:
            self.connection.execute(_WAIT)
            lock(self.connection, orgs)
            self._number = self.connection.execute(_NUMBER).fetchone()[0]  # type: ignore[index]
        except BaseException:
            self.roll_back()
            raise

    def heads(self, orgs: Orgs) -> tuple[dict[str, Head], int]:
        """Read anew each time: another process may have written since."""
        if orgs is None:
            found = self.connection.execute(sql.ORGANISATIONS).fetchall()
            orgs = [OrganisationRow(*row).org for row in found]
        heads: dict[str, Head] = {}
        newest = 0
        for org in orgs:
            named = {"org": org, "chain": SERVING}
            row = self.connection.execute(sql.CHAIN_HEAD, named).fetchone()
            if row is not None:
                last = AuditRow(*row)
                heads[org] = Head(last.seq, last.digest)
                newest = max(newest, last.at)
        return heads, newest

    def commit(self) -> None:
        """Where the connection is lost on the way, the server is asked what became of it."""
        try:
            self.connection.execute("COMMIT")
        except psycopg.OperationalError:
            self._find_out()
        if self._warned:
            raise NotReplicated

    def roll_back(self) -> None:
        """A connection that cannot is given up: the server rolls back what it left open."""
        try:
            if self.connection.in_transaction and not self.connection.raw.closed:
                self.connection.execute("ROLLBACK")
        except psycopg.Error:
            self.connection.close()

    def is_of_the_machine(self, error: BaseException) -> bool:
        return isinstance(error, psycopg.OperationalError | NotReplicated | OutcomeUnknown)

    def is_of_the_rows(self, error: BaseException) -> bool:
        return isinstance(error, psycopg.IntegrityError | psycopg.DataError)

    def close(self) -> None:
        with suppress(psycopg.Error):
            self.connection.close()

    def _connected(self) -> Connection:
        raw = connected(self._address)
        raw.add_notice_handler(self._hear)
        return Connection(raw)

    def _hear(self, notice: "psycopg.errors.Diagnostic") -> None:
        if _NOT_REPLICATED in (notice.message_primary or ""):
            self._warned = True

    def _find_out(self) -> None:
        """Raises OutcomeUnknown, or what says that nothing was kept."""
        self.connection.close()
        try:
            self.connection = self._connected()
            status: Any = self.connection.execute(_OUTCOME, (self._number,)).fetchone()
        except psycopg.Error as error:
            raise OutcomeUnknown from error
        if status[0] != "committed":
            raise OutcomeUnknown if status[0] != "aborted" else psycopg.OperationalError("aborted")
        _LOG.warning("The answer to a commit was lost; the server says that it is kept.")


def lock(connection: Connection, orgs: Orgs) -> None:
    """Until the end of the transaction. None: nobody else writes anything."""
    if orgs is None:
        connection.execute(_EXCLUSIVE, (LOCKS, _ALL))
        return
    connection.execute(_SHARED, (LOCKS, _ALL))
    for key in sorted({_key(org) for org in orgs}):
        connection.execute(_EXCLUSIVE, (LOCKS, key))


def _key(org: str) -> int:
    """Two organisations with the same one wait for each other now and then, no more."""
    number = int.from_bytes(hashlib.sha256(org.encode()).digest()[:4], signed=True)
    return number or 1
