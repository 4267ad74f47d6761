"""What does the writer need of a database, and how does SQLite give it?"""

import sqlite3
from collections.abc import Collection
from typing import Any, Protocol

from service.storage.chain import Head

BUSY_WAIT_MS = 2000
Orgs = Collection[str] | None
"""The organisations that a transaction may touch; None: any."""

# What the machine did, not what the caller sent: every caller of the batch hears of it.
_OF_THE_MACHINE = {
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_LOCKED,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_CORRUPT,
    sqlite3.SQLITE_NOTADB,
    sqlite3.SQLITE_NOMEM,
}


class InDoubt(Exception):
    """Whether a transaction is kept cannot be said. ``told``: what its callers hear."""

    told = (
        "Whether this was kept is not known now. Send the same again: with its Idempotency-Key,"
        " if it had one; without, look first whether it is there."
    )


class Engine(Protocol):
    """One connection that writes. ``alone``: nobody else writes what this one does, so what it
    learned of the audit chains stays true. ``quick``: it reads and inserts on the loop."""

    alone: bool
    quick: bool

    @property
    def connection(self) -> Any: ...

    def begin_at_once(self) -> bool:
        """Begin without waiting; false where somebody else is in the way."""

    def begin(self, orgs: Orgs) -> None:
        """Begin, waiting a while. While the transaction lasts nobody else writes of ``orgs``."""

    def heads(self, orgs: Orgs) -> tuple[dict[str, Head], int]:
        """The audit chains' last entries and the time of the newest, inside the transaction."""

    def commit(self, heads: dict[str, Head]) -> None:
        """Comes back when it is on disk; raises where it is not, or InDoubt where nobody can say.

        ``heads``: the last entries of the audit chains with it."""

    def roll_back(self) -> None:
        """Leave the transaction, if there is one."""

    def is_of_the_machine(self, error: BaseException) -> bool: ...

    def is_of_the_rows(self, error: BaseException) -> bool:
        """A row stands in the way of another."""

    def close(self) -> None: ...


class SqliteEngine:
    alone = True
    quick = True

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection

    def begin_at_once(self) -> bool:
        try:
            self.connection.execute("BEGIN IMMEDIATE")
        except sqlite3.OperationalError as error:
            if not self.is_of_the_machine(error):
                raise
            return False
        return True

    def begin(self, orgs: Orgs) -> None:  # noqa: ARG002 - the file has one writer
        self.connection.execute(f"PRAGMA busy_timeout = {BUSY_WAIT_MS}")
        try:
            self.connection.execute("BEGIN IMMEDIATE")
        finally:
            self.connection.execute("PRAGMA busy_timeout = 0")

    def heads(self, orgs: Orgs) -> tuple[dict[str, Head], int]:  # noqa: ARG002
        return {}, 0

    def commit(self, heads: dict[str, Head]) -> None:  # noqa: ARG002
        self.connection.execute("COMMIT")

    def roll_back(self) -> None:
        if self.connection.in_transaction:
            self.connection.execute("ROLLBACK")

    def is_of_the_machine(self, error: BaseException) -> bool:
        code = getattr(error, "sqlite_errorcode", None)
        return code is not None and code & 0xFF in _OF_THE_MACHINE

    def is_of_the_rows(self, error: BaseException) -> bool:
        return isinstance(error, sqlite3.IntegrityError)

    def close(self) -> None:
        self.connection.close()
