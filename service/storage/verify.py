"""Was the audit trail changed by anyone but the service?

Chains are computed anew and held against the seals in the record and, where given, against
seals kept elsewhere: only those show that chains and seals were both rewritten, or both gone.
A trail is read row by row and is never in memory as a whole.
"""

import sqlite3
from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import Any, TypeVar

import msgspec
from msgspec import Struct

from service.storage import statements_sqlite as sql
from service.storage.chain import Head, chain_start, digest_of, read_seal
from service.storage.connection import short_read
from service.storage.place import Place
from service.storage.rows import AuditRow, AuditSealRow, OrganisationRow

R = TypeVar("R")

MOST_FAULTS = 1000
"""So many faults are told; the others are counted."""


class AuditFault(Struct, frozen=True):
    """``kind``: gap, edited, cut, missing, seal_gap, seal_edited or seal_missing."""

    org: str
    kind: str
    text: str
    chain: int | None = None
    seq: int | None = None


class HeldSeal(Struct, frozen=True):
    """A seal as the log stream or a backup kept it; ``digest`` in hex."""

    org: str
    n: int
    digest: str


class AuditReport(Struct, frozen=True):
    """``more``: faults beyond those that are told."""

    entries: int
    seals: int
    faults: tuple[AuditFault, ...]
    more: int = 0

    @property
    def sound(self) -> bool:
        return not self.faults


def verify_audit(path: Place, held: Iterable[HeldSeal] = ()) -> AuditReport:
    """Every entry and seal of the record, in one state of it."""
    counts = {"entries": 0, "seals": 0, "more": 0}
    told: list[AuditFault] = []
    with short_read(path) as connection:
        for fault in _faults(connection, held, counts):
            if len(told) < MOST_FAULTS:
                told.append(fault)
            else:
                counts["more"] += 1
    return AuditReport(counts["entries"], counts["seals"], tuple(told), counts["more"])


def _faults(
    connection: Any, held: Iterable[HeldSeal], counts: dict[str, int]
) -> Iterator[AuditFault]:
    begun: set[str] = set()
    rows = (AuditRow(*row) for row in _stream(connection, sql.AUDIT_TRAIL))
    for (org, chain), entries in groupby(rows, key=lambda row: (row.org, row.chain)):
        begun.add(org)
        yield from _of_chain(org, chain, _counted(entries, counts, "entries"))
    for found in connection.execute(sql.ORGANISATIONS).fetchall():
        org = OrganisationRow(*found).org
        if org not in begun:
            text = "Nothing is in the trail, which begins when the organisation is made."
            yield AuditFault(org, "missing", text)
    seals = (AuditSealRow(*row) for row in _stream(connection, sql.AUDIT_SEALS))
    for org, sealed in groupby(seals, key=lambda row: row.org):
        yield from _of_seals(connection, org, _counted(sealed, counts, "seals"))
    yield from _of_held(connection, held)


def _stream(connection: Any, statement: str) -> Iterable[tuple[Any, ...]]:
    """Rows as they come: of a server by a cursor there, of a file as they are asked for."""
    rows: Iterable[tuple[Any, ...]] = getattr(connection, "stream", connection.execute)(statement)
    return rows


def _counted(rows: Iterable[R], counts: dict[str, int], name: str) -> Iterator[R]:
    for row in rows:
        counts[name] += 1
        yield row


def _of_chain(org: str, chain: int, entries: Iterable[AuditRow]) -> Iterator[AuditFault]:
    """After a fault the chain goes on from the entry as it stands: each fault is named once."""
    head = chain_start(org, chain)
    for row in entries:
        if row.seq != head.seq + 1:
            text = f"The entries from {head.seq + 1} to this one are missing."
            yield AuditFault(org, "gap", text, chain, row.seq)
        elif row.digest != _digest(head.digest, row.seq, row.at, row.body):
            text = "The entry is not what was written, or not in its place."
            yield AuditFault(org, "edited", text, chain, row.seq)
        head = Head(row.seq, row.digest)


def _of_seals(
    connection: sqlite3.Connection, org: str, seals: Iterable[AuditSealRow]
) -> Iterator[AuditFault]:
    number, previous = 0, b""
    for row in seals:
        if row.n != number + 1:
            yield AuditFault(
                org, "seal_gap", f"The seals from {number + 1} to {row.n} are missing."
            )
        elif row.digest != _digest(previous, row.n, row.at, row.body):
            yield AuditFault(org, "seal_edited", f"Seal {row.n} is not what was written.")
        else:
            yield from _heads_stand(connection, row)
        number, previous = row.n, row.digest


def _digest(previous: bytes, number: int, at: int, body: bytes) -> bytes | None:
    """None where the row holds what the service never writes: text for bytes, words for times."""
    try:
        return digest_of(previous, number, at, body)
    except (TypeError, AttributeError, OverflowError):
        return None


def _heads_stand(connection: sqlite3.Connection, seal: AuditSealRow) -> Iterator[AuditFault]:
    try:
        heads = read_seal(seal.body).heads
    except msgspec.MsgspecError:
        yield AuditFault(seal.org, "seal_edited", f"Seal {seal.n} cannot be read.")
        return
    for chain, seq, digest in heads:
        found = connection.execute(
            sql.AUDIT_ENTRY, {"org": seal.org, "chain": chain, "seq": seq}
        ).fetchone()
        if found is None:
            text = f"Seal {seal.n} saw the chain reach entry {seq}, which is not there."
            yield AuditFault(seal.org, "cut", text, chain, seq)
        elif AuditRow(*found).digest.hex() != digest:
            text = f"Seal {seal.n} saw another entry at this place."
            yield AuditFault(seal.org, "edited", text, chain, seq)


def _of_held(connection: sqlite3.Connection, held: Iterable[HeldSeal]) -> Iterator[AuditFault]:
    for seal in held:
        named = {"org": seal.org, "n": seal.n}
        row = connection.execute(sql.AUDIT_SEAL, named).fetchone()
        if row is None:
            text = f"Seal {seal.n}, which is held elsewhere, is not in the record."
            yield AuditFault(seal.org, "seal_missing", text)
        elif AuditSealRow(*row).digest.hex() != seal.digest:
            text = f"Seal {seal.n} is not the one that is held elsewhere."
            yield AuditFault(seal.org, "seal_edited", text)
