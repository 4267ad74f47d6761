"""What may an operator read of what the server said, and is it a matter of reaching it?"""

from typing import Any

import psycopg

# Where the database, the role or the connection is not as it has to be: nothing of a row is in
# what the server says of these.
_OF_THE_PLACE = (
    psycopg.OperationalError,
    psycopg.errors.InsufficientPrivilege,
    psycopg.errors.ReadOnlySqlTransaction,
)


def told(error: BaseException) -> str | None:
    """One line; None where it is another error. The tools of the migrations wrap the driver's."""
    inner: Any = getattr(error, "orig", error)
    if not isinstance(inner, _OF_THE_PLACE):
        return None
    said = inner.diag.message_primary or str(inner).strip().partition("\n")[0]
    return f"The PostgreSQL server cannot be used: {said or type(inner).__name__}"
