"""What will the writes of a batch ask, so that a server is asked for all of it at once?

A file answers each question in a few microseconds. A server is a journey away, so that a batch
would spend its time on the way: what can be known beforehand is asked together, and what follows
from the answers together again. Nothing is decided here. A row that was seen holds until the
batch writes: its organisations are written by nobody else meanwhile.
"""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, Generic, TypeVar

from service.application.ports import NewScreen
from service.storage import statements_sqlite as sql
from service.storage.rows import PatientRow

T = TypeVar("T")
Ask = tuple[str, Mapping[str, Any]]
"""A statement that gives one row, and its values."""


class Foreseeing(Generic[T]):
    """A decision, and what it is going to ask."""

    def __init__(self, decide: Callable[[Any], T], asks: Iterable[Ask]) -> None:
        self._decide = decide
        self.asks = tuple(asks)

    def __call__(self, batch: Any) -> T:
        return self._decide(batch)


class Foresight:
    """Rows that were asked for before anybody needed them."""

    def __init__(self, connection: Any) -> None:
        self._ask_all = getattr(connection, "ask_all", None)
        self._rows: dict[tuple[str, frozenset[tuple[str, Any]]], Any] = {}

    def look(self, asks: Iterable[Ask]) -> None:
        """Where the connection can ask for many at once; what follows from a row too."""
        if self._ask_all is None:
            return
        wanted = {_key(*ask): ask for ask in asks}
        while wanted:
            rows = self._ask_all(list(wanted.values()))
            self._rows |= dict(zip(wanted, rows, strict=True))
            found = zip(wanted.values(), rows, strict=True)
            next_asks = [_next(*ask, row) for ask, row in found if row is not None]
            wanted = {_key(*ask): ask for ask in next_asks if ask is not None}
            wanted = {key: ask for key, ask in wanted.items() if key not in self._rows}

    def row(self, connection: Any, statement: str, named: Mapping[str, Any]) -> Any:
        """The first row of a statement, or None; asked for now where it was not foreseen."""
        if self._rows:
            key = _key(statement, named)
            if key in self._rows:
                return self._rows[key]
        return connection.execute(statement, named).fetchone()

    def forget(self) -> None:
        """Rows were written."""
        self._rows.clear()


def asks_of(new: NewScreen) -> list[Ask]:
    """What keeping a new screen asks at the least."""
    by, subject = new.principal, new.content.patient
    asks: list[Ask] = [
        (sql.PATIENT_ID, {"org": by.org, "system": one.system, "value": one.value})
        for one in (subject.identifier, *subject.more_identifiers)
    ]
    if new.once is not None:
        claim = {"operation": new.once.operation, "key": new.once.key}
        asks.append((sql.CLAIM, {"org": by.org, "credential": by.credential} | claim))
    if new.content.source_id is not None:
        source = {"org": by.org, "source_id": new.content.source_id}
        asks.append((sql.SCREEN_OF_SOURCE, source))
    return asks


def _next(statement: str, named: Mapping[str, Any], row: Any) -> Ask | None:
    """Who is known is read, and the last event of the plan that stands."""
    if statement == sql.PATIENT_ID:
        return sql.PATIENT, {"org": named["org"], "id": row[0]}
    if statement == sql.PATIENT:
        plan = PatientRow(*row).current_plan
        return None if plan is None else (sql.LAST_EVENT, {"plan": plan})
    return None


def _key(statement: str, named: Mapping[str, Any]) -> tuple[str, frozenset[tuple[str, Any]]]:
    return statement, frozenset(named.items())
