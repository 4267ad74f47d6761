"""Which tables is everything kept in? The one schema; statements and migrations follow from it.

Columns are text, whole numbers and bytes only, so that every driver writes the same bytes:
ids are 36 characters, times are microseconds since 1970 in UTC, documents are JSON bytes
with the number of their schema beside them.
"""

from typing import Any, ClassVar

from sqlalchemy import BigInteger, Index, Integer, LargeBinary, Text, text
from sqlalchemy.dialects import postgresql
from sqlmodel import Field, SQLModel

# A small row found by its whole key is stored in that key's order: one tree instead of two.
_BY_KEY: dict[str, Any] = {"sqlite_with_rowid": False}


# Bytes are compared, whatever the language of the server: ids sort by time, cursors never skip.
_TEXT = Text().with_variant(postgresql.TEXT(collation="C"), "postgresql")


def _where(rows: str) -> dict[str, Any]:
    """An index over some rows alone."""
    return {"sqlite_where": text(rows), "postgresql_where": text(rows)}


def _key(kind: Any = _TEXT) -> Any:
    return Field(primary_key=True, sa_type=kind, sa_column_kwargs={"autoincrement": False})


def _text() -> Any:
    return Field(sa_type=_TEXT)


def _time() -> Any:
    return Field(sa_type=BigInteger)


def _whole() -> Any:
    return Field(sa_type=Integer)


def _bytes() -> Any:
    return Field(sa_type=LargeBinary)


class Organisation(SQLModel, table=True):
    __table_args__: ClassVar[Any] = (_BY_KEY,)
    org: str = _key()
    name: str = _text()
    time_zone: str = _text()
    settings: bytes = _bytes()
    patient_key: bytes = _bytes()
    created: int = _time()


class Credential(SQLModel, table=True):
    """``last_used``: when its use was first seen on the last day that it was used."""

    __table_args__: ClassVar[Any] = (Index("credential_prefix", "prefix", unique=True),)
    id: str = _key()
    org: str = _text()
    name: str = _text()
    prefix: str = _text()
    hash: bytes = _bytes()
    created: int = _time()
    expires: int | None = _time()
    revoked: int | None = _time()
    scopes: str = _text()
    last_used: int | None = _time()


class Patient(SQLModel, table=True):
    """The only row that changes often. ``current_*`` is the pointer to the leading screen;
    ``current_until``: when its plan's time runs out, null once that is written down."""

    __table_args__: ClassVar[Any] = (
        Index("patient_merged", "org", "merged_into", **_where("merged_into IS NOT NULL")),
        Index("patient_due", "current_until", **_where("current_until IS NOT NULL")),
        _BY_KEY,
    )
    org: str = _key()
    id: str = _key()
    rev: int = _time()
    current_plan: str | None = _text()
    current_screen: str | None = _text()
    current_observed: int | None = _time()
    current_until: int | None = _time()
    merged_into: str | None = _text()
    schema_no: int = _whole()
    body: bytes = _bytes()


class PatientId(SQLModel, table=True):
    __tablename__: ClassVar[Any] = "patient_id"
    __table_args__: ClassVar[Any] = (_BY_KEY,)
    org: str = _key()
    system: str = _key()
    value: str = _key()
    patient: str = _text()


class Screen(SQLModel, table=True):
    __table_args__: ClassVar[Any] = (
        Index("screen_of_patient", "org", "patient", "observed", "id"),
        Index("screen_recorded", "org", "recorded", "id"),
        Index("screen_observed", "org", "observed", "id"),
        Index(
            "screen_source",
            "org",
            "source_id",
            unique=True,
            **_where("version = 1 AND source_id IS NOT NULL"),
        ),
    )
    id: str = _key()
    version: int = _key(Integer)
    org: str = _text()
    patient: str = _text()
    observed: int = _time()
    recorded: int = _time()
    status: str = _text()
    source_id: str | None = _text()
    features: bytes = _bytes()
    rule_book: str = _text()
    schema_no: int = _whole()
    body: bytes = _bytes()


class Plan(SQLModel, table=True):
    __table_args__: ClassVar[Any] = (
        Index("plan_of_patient", "org", "patient", "valid_from", "id"),
        Index("plan_observed", "org", "valid_from", "id"),
        Index("plan_of_screen", "screen", "screen_version", unique=True),
    )
    id: str = _key()
    org: str = _text()
    patient: str = _text()
    screen: str = _text()
    screen_version: int = _whole()
    valid_from: int = _time()
    valid_until: int = _time()
    rule_book: str = _text()
    schema_no: int = _whole()
    body: bytes = _bytes()


class PlanEvent(SQLModel, table=True):
    __tablename__: ClassVar[Any] = "plan_event"
    __table_args__: ClassVar[Any] = (
        Index(
            "plan_event_once",
            "plan",
            "kind",
            unique=True,
            **_where("kind IN ('created', 'lapsed', 'withdrawn')"),
        ),
        Index("plan_event_at", "org", "at", "plan"),
        _BY_KEY,
    )
    plan: str = _key()
    version: int = _key(Integer)
    org: str = _text()
    patient: str = _text()
    rev: int = _time()
    at: int = _time()
    kind: str = _text()
    actor: str = _text()
    body: bytes = _bytes()


class Idempotency(SQLModel, table=True):
    __table_args__: ClassVar[Any] = (Index("idempotency_at", "at"), _BY_KEY)
    org: str = _key()
    credential: str = _key()
    operation: str = _key()
    key: str = _key()
    digest: str = _text()
    screen: str = _text()
    at: int = _time()


class Audit(SQLModel, table=True):
    __table_args__: ClassVar[Any] = (Index("audit_at", "org", "at", "chain", "seq"), _BY_KEY)
    org: str = _key()
    chain: int = _key(Integer)
    seq: int = _key(BigInteger)
    at: int = _time()
    body: bytes = _bytes()
    digest: bytes = _bytes()


class AuditSeal(SQLModel, table=True):
    __tablename__: ClassVar[Any] = "audit_seal"
    __table_args__: ClassVar[Any] = (_BY_KEY,)
    org: str = _key()
    n: int = _key(BigInteger)
    at: int = _time()
    body: bytes = _bytes()
    digest: bytes = _bytes()


class Outbox(SQLModel, table=True):
    __table_args__: ClassVar[Any] = (
        Index("outbox_waiting", "target", "next_try", "id", **_where("done IS NULL")),
    )
    id: str = _key()
    org: str = _text()
    patient: str = _text()
    rev: int = _time()
    target: str = _text()
    ref: str = _text()
    next_try: int = _time()
    tries: int = _whole()
    done: int | None = _time()
