"""Can the record be written, and when was it written last?"""

from collections.abc import Callable

from service.storage import statements_sqlite as sql
from service.storage.batch import Batch
from service.storage.connection import short_read
from service.storage.place import Place
from service.storage.rows import IdempotencyRow, OrganisationRow


def touch(batch: Batch) -> Callable[[], None]:
    """Write something that leaves nothing."""
    nobody = ""
    row = IdempotencyRow(nobody, nobody, nobody, nobody, nobody, nobody, batch.at)
    batch.connection.execute(sql.CLAIM_KEY, row)
    batch.connection.execute(sql.FORGET_CLAIMS_OF, {"of_org": nobody})
    return lambda: None


def last_recorded(place: Place) -> int:
    """The time of the newest row: none is dated before it, though the clock be set back."""
    with short_read(place) as connection:
        rows = connection.execute(sql.ORGANISATIONS).fetchall()
        orgs = [OrganisationRow(*row).org for row in rows]
        times = [connection.execute(sql.LAST_RECORDED, {"org": org}).fetchone()[0] for org in orgs]
        return max((time for time in times if time is not None), default=0)
