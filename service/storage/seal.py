"""When and how are the heads of the audit chains sealed?"""

import asyncio
import logging
from collections.abc import Callable

from service.storage import statements_sqlite as sql
from service.storage.batch import Batch
from service.storage.chain import COMMANDS, SERVING, Head, next_seal
from service.storage.documents import canonical
from service.storage.keep_screen import CLAIM_LIFE_US
from service.storage.rows import AuditRow, AuditSealRow, OrganisationRow
from service.storage.writer import Writer, told_of

SEAL_EVERY_S = 60.0

_LOG = logging.getLogger("stanchion.audit")


def seal(batch: Batch) -> Callable[[], None]:
    """Seal every organisation that has new entries; forget idempotency keys that are too old."""
    batch.connection.execute(sql.FORGET_CLAIMS, {"before": batch.at - CLAIM_LIFE_US})
    batch.flush()
    rows = batch.connection.execute(sql.ORGANISATIONS).fetchall()
    seals = [_sealed(batch, OrganisationRow(*row).org) for row in rows]
    made = [row for row in seals if row is not None]
    batch.connection.executemany(sql.INSERT_AUDIT_SEAL, made)
    return lambda: _tell(made)


async def seal_regularly(writer: Writer) -> None:
    """Until cancelled. A seal that could not be written is written at the next turn."""
    while True:
        await asyncio.sleep(SEAL_EVERY_S)
        await seal_now(writer)


async def seal_now(writer: Writer) -> None:
    """Never raises: the service goes on, and the next turn comes."""
    try:
        await writer.submit(seal)
    except Exception as error:  # noqa: BLE001 - whatever it is, it must not end the sealing
        _LOG.error("The audit trail could not be sealed: %s", told_of(error))


def _sealed(batch: Batch, org: str) -> AuditSealRow | None:
    heads = {SERVING: batch.head(org)}
    commanded = batch.one(sql.CHAIN_HEAD, org=org, chain=COMMANDS)
    if commanded is not None:
        row = AuditRow(*commanded)
        heads[COMMANDS] = Head(row.seq, row.digest)
    written = {chain: head for chain, head in heads.items() if head.seq > 0}
    if not written:
        return None
    found = batch.one(sql.LAST_SEAL, org=org)
    return next_seal(org, AuditSealRow(*found) if found else None, written, batch.at)


def _tell(seals: list[AuditSealRow]) -> None:
    """To the log stream, where nobody who can change the database can change it."""
    for row in seals:
        line = {"org": row.org, "n": row.n, "at": row.at, "digest": row.digest.hex()}
        _LOG.info("seal %s", canonical(line).decode())
