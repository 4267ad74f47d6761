"""How does the writer write to PostgreSQL, with other processes writing beside it?

Before anything is read, a transaction takes one lock for each organisation it writes of, in one
order. So the writes of an organisation come one after the other, as they do in a file, and those
of different organisations side by side; no two transactions can wait for each other.
"""

import hashlib
import logging
from contextlib import suppress

import psycopg

from service.storage import statements_sqlite as sql
from service.storage.chain import SERVING, Head
from service.storage.engine import InDoubt, Orgs
from service.storage.postgres.connection import Connection
from service.storage.postgres.door import Door
from service.storage.rows import AuditRow, OrganisationRow

_LOG = logging.getLogger("stanchion.storage")

# The first key of all our locks; the second is 0 for all organisations, or one's own.
LOCKS = 0x57A9
_ALL = 0
_SHARED = "SELECT pg_advisory_xact_lock_shared(%s, %s)"
_EXCLUSIVE = "SELECT pg_advisory_xact_lock(%s, %s)"
_WAIT = "SET LOCAL lock_timeout = '10s'"
_WAIT_FOR_LOST = "SET LOCAL lock_timeout = '3s'"
_ENTRY = "SELECT digest FROM audit WHERE org = %s AND chain = %s AND seq = %s"
# A commit waits for a standby only where it wrote something.
_WRITE = "SELECT pg_logical_emit_message(true, 'stanchion', '')"
_TAKES_NO_WRITES = "default_transaction_read_only"
_NOT_REPLICATED = "canceling wait for synchronous replication"


class NotReplicated(InDoubt):
    """The transaction is on this server's disk, but its standby did not say so."""


class OutcomeUnknown(InDoubt):
    """The connection was lost in the commit, and the server cannot say what became of it."""


class PostgresEngine:
    alone = False
    quick = False

    def __init__(self, address: str) -> None:
        self._door = Door(address)
        self._warned = False
        self._orgs: Orgs = ()
        self._before: dict[str, int] = {}
        self.connection = self._connected()

    def begin_at_once(self) -> bool:
        return False

    def begin(self, orgs: Orgs) -> None:
        """A connection that was lost since the last transaction has lost nothing: a new one."""
        try:
            self._begin(orgs, _WAIT)
        except psycopg.OperationalError:
            if not self.connection.raw.closed:
                raise
            self._begin(orgs, _WAIT)

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
        self._before = {org: heads[org].seq if org in heads else 0 for org in orgs}
        return heads, newest

    def commit(self, heads: dict[str, Head]) -> None:
        """Where the connection is lost on the way, the server is asked what became of it."""
        try:
            done = self.connection.execute("COMMIT")
        except psycopg.Error as error:
            if not self.connection.raw.closed:
                raise  # the server's word: it is rolled back
            self._find_out(heads, error)
            return
        if done.statusmessage != "COMMIT":
            raise psycopg.OperationalError("The server rolled back what was to be committed.")
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
        """Also a server that turned into a standby, or that finds its own files broken."""
        return isinstance(error, psycopg.OperationalError | psycopg.InternalError | InDoubt)

    def is_of_the_rows(self, error: BaseException) -> bool:
        return isinstance(error, psycopg.IntegrityError | psycopg.DataError)

    def close(self) -> None:
        with suppress(psycopg.Error):
            self.connection.close()

    def _begin(self, orgs: Orgs, wait: str) -> None:
        if self.connection.raw.closed:
            self.connection = self._connected()
        self._warned = False
        self._orgs, self._before = orgs, {}
        try:
            if self.connection.raw.info.parameter_status(_TAKES_NO_WRITES) == "on":
                # another may have taken over: the next one looks again who leads
                self.connection.close()
                raise psycopg.OperationalError("The server takes no writes.")
            self.connection.execute("BEGIN")
            self.connection.execute(wait)
            lock(self.connection, orgs)
        except BaseException:
            self.roll_back()
            raise

    def _connected(self) -> Connection:
        raw = self._door.connection()
        raw.add_notice_handler(self._hear)
        return Connection(raw)

    def _hear(self, notice: "psycopg.errors.Diagnostic") -> None:
        if _NOT_REPLICATED in (notice.message_primary or ""):
            self._warned = True

    def _find_out(self, heads: dict[str, Head], lost: psycopg.Error) -> None:
        """Raises OutcomeUnknown, NotReplicated, or ``lost`` where nothing was kept.

        The number of a transaction says nothing: another server that took over, or the same one
        after a crash, may have given it again. An entry of the audit trail has no double. The
        locks of the lost transaction are waited for: as long as it has them it may still end
        either way. What is found is answered once a standby has it too.
        """
        mine = [
            (org, heads[org])
            for org, before in self._before.items()
            if org in heads and heads[org].seq > before
        ]
        try:
            self._begin(self._orgs, _WAIT_FOR_LOST)
            kept = [self._has(org, head) for org, head in mine]
            self.connection.execute(_WRITE)
            self.connection.execute("COMMIT")
        except psycopg.Error as error:
            raise OutcomeUnknown from error
        if self._warned:
            raise NotReplicated
        if not kept:
            raise OutcomeUnknown from lost
        if not all(kept):
            raise lost
        _LOG.warning("The answer to a commit was lost; the server says that it is kept.")

    def _has(self, org: str, head: Head) -> bool:
        row = self.connection.execute(_ENTRY, (org, SERVING, head.seq)).fetchone()
        return row is not None and row[0] == head.digest


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
