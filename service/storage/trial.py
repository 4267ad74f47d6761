"""Can the audit trail be written now? Tried for real, leaving nothing."""

from collections.abc import Callable

from service.storage import statements_sqlite as sql
from service.storage.batch import Batch
from service.storage.rows import AuditRow

_NOBODY = ""


def audit_nothing(batch: Batch) -> Callable[[], None]:
    """An entry of nobody's chain, taken back before the transaction ends: no chain grows."""
    batch.connection.execute("SAVEPOINT trial")
    try:
        row = AuditRow(_NOBODY, 0, 0, batch.at, b"", b"")
        batch.connection.execute(sql.INSERT_AUDIT, row)
    finally:
        batch.connection.execute("ROLLBACK TO trial")
        batch.connection.execute("RELEASE trial")
    return lambda: None
