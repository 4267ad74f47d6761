"""How does a connection to PostgreSQL take the statements that are written for SQLite?

Both sets of statements are generated from the same tables under the same names; each statement
is sent as its twin. Everything above works on either connection.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

import psycopg
from psycopg.conninfo import conninfo_to_dict
from psycopg.pq import TransactionStatus

from service.storage import statements_postgres, statements_sqlite

CONNECT_SECONDS = 5
TWIN: dict[str, str] = {
    getattr(statements_sqlite, name): getattr(statements_postgres, name)
    for name in dir(statements_sqlite)
    if name.isupper()
}
_SETTINGS: dict[str, Any] = {
    "autocommit": True,
    "connect_timeout": CONNECT_SECONDS,
    "application_name": "stanchion",
    "keepalives_idle": 5,
    "keepalives_interval": 2,
    "keepalives_count": 3,
    # of what was sent nothing arrives: milliseconds
    "tcp_user_timeout": 10_000,
    # of several servers the one that leads; a standby may tell what was true a moment ago
    "target_session_attrs": "primary",
}
# A plan that is made once, for whichever patient, walks through all screens of an organisation to
# find those of one: the server is to plan each reading for its own values.
_READ = """
BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY;
SET LOCAL plan_cache_mode = force_custom_plan"""
_ORGANISATION = "SELECT set_config('app.org', %s, true)"


Row = Sequence[Any] | Mapping[str, Any]


class TwoOrganisations(Exception):
    """One reading asked for the rows of two organisations."""


class Connection:
    """As much of ``sqlite3.Connection`` as the storage modules use."""

    def __init__(self, raw: "psycopg.Connection[tuple[Any, ...]]") -> None:
        self.raw = raw

    def execute(self, statement: str, values: Any = None) -> "psycopg.Cursor[tuple[Any, ...]]":
        return self.raw.execute(_sent(statement), values)

    def executemany(self, statement: str, rows: Iterable[Row]) -> None:
        many = list(rows)
        if many:
            with self.raw.cursor() as cursor:
                cursor.executemany(_sent(statement), many)

    def ask_all(self, asks: Sequence[tuple[str, Mapping[str, Any]]]) -> list[Any]:
        """The first row of each statement, or None: all of them sent before one is answered."""
        with self.raw.pipeline():
            sent = [self.execute(statement, values) for statement, values in asks]
        return [cursor.fetchone() for cursor in sent]

    def stream(self, statement: str) -> Iterator[tuple[Any, ...]]:
        """Rows as they come, never all of them here at once; inside a transaction."""
        with self.raw.cursor(name="stream") as cursor:
            cursor.execute(_sent(statement))
            yield from cursor

    @property
    def in_transaction(self) -> bool:
        return self.raw.info.transaction_status != TransactionStatus.IDLE

    def close(self) -> None:
        self.raw.close()


class ReadConnection(Connection):
    """Reads of one organisation a transaction, which the server is told of and holds it to."""

    def __init__(self, raw: "psycopg.Connection[tuple[Any, ...]]") -> None:
        super().__init__(raw)
        self._org: str | None = None

    def begin(self) -> None:
        self._org = None
        self.raw.execute(_READ, prepare=False)  # two statements in one sending

    def execute(self, statement: str, values: Any = None) -> "psycopg.Cursor[tuple[Any, ...]]":
        org = values.get("org") if isinstance(values, Mapping) else None
        if org is not None and org != self._org:
            if self._org is not None:
                raise TwoOrganisations
            self.raw.execute(_ORGANISATION, (org,))
            self._org = org
        return super().execute(statement, values)


def connected(address: str) -> "psycopg.Connection[tuple[Any, ...]]":
    """A connection that says BEGIN and COMMIT itself. Raises psycopg.OperationalError."""
    return psycopg.connect(address, **settings_for(address))


def settings_for(address: str) -> dict[str, Any]:
    """What the address does not say itself."""
    return {name: _SETTINGS[name] for name in _SETTINGS.keys() - conninfo_to_dict(address).keys()}


def _sent(statement: str) -> bytes:
    return TWIN.get(statement, statement).encode()
