"""Who writes down that a plan's time ran out, when nobody reads it?

Every half minute the patients whose plan is due are taken from an index, oldest first, a bounded
number a transaction, until none is left. A first read past the end may come before; then there
is nothing left to do. A plan is read as lapsed from its last moment on, written down or not.
"""

import asyncio
import logging
from collections.abc import Callable

from service.domain.record import Principal
from service.storage import statements_sqlite as sql
from service.storage.batch import Batch
from service.storage.change_plan import lapse
from service.storage.rows import PatientRow
from service.storage.times import from_micros
from service.storage.watch import Watch
from service.storage.writer import Writer, told_of

SWEEP_EVERY_S = 30.0
MOST_AT_ONCE = 100
NAME = "the clock"

_LOG = logging.getLogger("stanchion.storage")


def sweep(batch: Batch) -> Callable[[], tuple[int, int]]:
    """Lapse what is due, at most ``MOST_AT_ONCE``; gives how many were due and how many written."""
    batch.flush()
    due = {"now": batch.at, "limit": MOST_AT_ONCE}
    rows = [PatientRow(*row) for row in batch.connection.execute(sql.PATIENTS_DUE, due).fetchall()]
    written = 0
    for row in rows:
        if row.current_plan is not None:
            clock = Principal(row.org, "", NAME)
            written += lapse(batch, clock, row.current_plan, from_micros(batch.at))
        left = batch.patient(row.org, row.id)
        if left is not None and left.current_until is not None:
            batch.put_patient(left._replace(current_until=None))
    return lambda: (len(rows), written)


async def sweep_now(writer: Writer, watch: Watch) -> int:
    """Everything that is due, one transaction after the other; gives how many were written."""
    count = 0
    while True:
        due, written = await writer.submit(sweep)
        count += written
        watch.lapsed(written)
        if due < MOST_AT_ONCE:
            return count


async def sweep_regularly(writer: Writer, watch: Watch) -> None:
    """Until cancelled. What could not be written is written at the next turn."""
    while True:
        try:
            await sweep_now(writer, watch)
        except Exception as error:  # noqa: BLE001 - whatever it is, the next turn comes
            _LOG.error("Plans that ran out could not be written down: %s", told_of(error))
        await asyncio.sleep(SWEEP_EVERY_S)
