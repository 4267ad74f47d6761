"""Which statements read the audit trail? Said once in terms of the tables.

A stretch of the trail is as long as its reader says, so that asking for what is rare never keeps
a reader for long; what was asked for is picked from the stretch.
"""

from typing import Any

from sqlalchemy import bindparam, literal_column, select, tuple_
from sqlmodel import SQLModel

import service.storage.tables  # noqa: F401 - fills the metadata

_TABLES = SQLModel.metadata.tables
_AUDIT = _TABLES["audit"]
_SEAL = _TABLES["audit_seal"]


def _is(table: Any, *columns: str) -> list[Any]:
    return [table.c[name] == bindparam(name) for name in columns]


def _stretch(way: str) -> Any:
    """The entries behind a cursor, between two times, in the order of time."""
    columns = (_AUDIT.c.at, _AUDIT.c.chain, _AUDIT.c.seq)
    place = tuple_(*columns)
    cursor = tuple_(bindparam("after_at"), bindparam("after_chain"), bindparam("after_seq"))
    return (
        select(_AUDIT)
        .where(
            *_is(_AUDIT, "org"),
            _AUDIT.c.at >= bindparam("low"),
            _AUDIT.c.at <= bindparam("high"),
            place > cursor if way == "up" else place < cursor,
        )
        .order_by(*(one.asc() if way == "up" else one.desc() for one in columns))
        .limit(bindparam("limit"))
    )


def audits() -> dict[str, Any]:
    """Every statement that reads the trail."""
    named = {f"audit_{way}": _stretch(way) for way in ("up", "down")}
    named["audit_entry"] = select(_AUDIT).where(*_is(_AUDIT, "org", "chain", "seq"))
    named["audit_seal"] = select(_SEAL).where(*_is(_SEAL, "org", "n"))
    named["audit_trail"] = select(_AUDIT).order_by(_AUDIT.c.org, _AUDIT.c.chain, _AUDIT.c.seq)
    named["audit_seals"] = select(_SEAL).order_by(_SEAL.c.org, _SEAL.c.n)
    return named | _heads()


def _heads() -> dict[str, Any]:
    """The last entry of a chain, and the last seal."""
    return {
        "chain_head": select(_AUDIT)
        .where(*_is(_AUDIT, "org", "chain"))
        .order_by(_AUDIT.c.seq.desc())
        .limit(literal_column("1")),
        "last_seal": select(_SEAL)
        .where(*_is(_SEAL, "org"))
        .order_by(_SEAL.c.n.desc())
        .limit(literal_column("1")),
    }
