"""How is the audit trail chained and sealed, so that a change of it shows?"""

import hashlib

import msgspec
from msgspec import Struct

from service.application.ports import AuditEntry
from service.storage.documents import canonical
from service.storage.rows import AuditRow, AuditSealRow

SERVING = 1
"""The chain of the serving process; the lock file keeps it to one."""

COMMANDS = 2
"""The chain of the commands, extended in their own short transactions."""

CHAINS = (SERVING, COMMANDS)


class Head(Struct, frozen=True):
    """The last entry of a chain."""

    seq: int
    digest: bytes


class SealBody(Struct, frozen=True):
    """``heads``: chain, seq and digest (hex) of each; ``previous``: digest of the seal before."""

    heads: tuple[tuple[int, int, str], ...]
    previous: str


_SEAL = msgspec.json.Decoder(SealBody)


def chain_start(org: str, chain: int) -> Head:
    """What the first entry of a chain follows: names the chain, so that none can be swapped."""
    return Head(0, hashlib.sha256(f"{org}|{chain}".encode()).digest())


def furthest(mine: dict[str, Head], found: dict[str, Head]) -> dict[str, Head]:
    """By organisation, the heads that chains go on from. Where the record has lost, or has
    otherwise, what this process knows that it wrote, a chain goes on as if it were there: so the
    loss shows."""
    ahead = {
        org: head for org, head in mine.items() if org not in found or head.seq >= found[org].seq
    }
    return found | ahead


def entry_body(entry: AuditEntry) -> bytes:
    """Canonical JSON of who did what to whose data, with what outcome, in which request."""
    return canonical(
        {
            "action": entry.action,
            "credential": entry.principal.credential,
            "name": entry.principal.name,
            "outcome": entry.outcome,
            "patient": entry.patient,
            "request_id": entry.request_id,
            "target": entry.target,
        }
    )


def digest_of(previous: bytes, number: int, at: int, body: bytes) -> bytes:
    """SHA-256 over what went before, the position, the time and the body."""
    place = number.to_bytes(8) + at.to_bytes(8, signed=True)
    return hashlib.sha256(previous + place + body).digest()


def next_entry(org: str, chain: int, head: Head, at: int, body: bytes) -> AuditRow:
    seq = head.seq + 1
    return AuditRow(org, chain, seq, at, body, digest_of(head.digest, seq, at, body))


def next_seal(
    org: str, before: AuditSealRow | None, heads: dict[int, Head], at: int
) -> AuditSealRow | None:
    """A seal over the heads; None where nothing was written since the seal before."""
    listed = tuple((chain, head.seq, head.digest.hex()) for chain, head in sorted(heads.items()))
    if before is not None and _heads_of(before) == listed:
        return None
    number = 1 if before is None else before.n + 1
    previous = b"" if before is None else before.digest
    body = canonical(SealBody(listed, previous.hex()))
    return AuditSealRow(org, number, at, body, digest_of(previous, number, at, body))


def _heads_of(seal: AuditSealRow) -> tuple[tuple[int, int, str], ...] | None:
    """None where somebody made it unreadable: sealing goes on, and a check tells of it."""
    try:
        return read_seal(seal.body).heads
    except msgspec.MsgspecError:
        return None


def read_seal(body: bytes) -> SealBody:
    """The heads in a seal. Raises msgspec.MsgspecError where the body is no seal."""
    return _SEAL.decode(body)
