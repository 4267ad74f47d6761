"""Does every way of changing the audit trail show?"""

import hashlib

import pytest

from service.storage.chain import Head, chain_start, digest_of, next_seal
from service.storage.rows import AuditRow, AuditSealRow
from service.storage.verify import HeldSeal, verify_audit
from tests.storage.made import ON_A_FILE, House, open_house, sql_of


async def sealed(house: House) -> list[HeldSeal]:
    """Five entries in two seals, closed; gives the seals as the log stream has them."""
    for n in range(3):
        await house.store.keep(house.new(f"H-{n}"))
    await house.store.close()
    house.store = (await open_house(house.path, house.clock)).store
    for n in range(2):
        await house.store.keep(house.new(f"H-{n}", 9))
    await house.store.close()
    rows = [AuditSealRow(*row) for row in sql_of(house.path, "SELECT * FROM audit_seal")]
    return [HeldSeal(row.org, row.n, row.digest.hex()) for row in rows if row.org == house.by.org]


def kinds(house: House, held: list[HeldSeal] | None = None) -> set[str]:
    return {fault.kind for fault in verify_audit(house.path, held or []).faults}


async def test_an_untouched_trail_is_sound(house: House) -> None:
    held = await sealed(house)
    report = verify_audit(house.path, held)
    assert report.sound
    assert (report.entries, report.faults) == (7, ())
    assert report.seals >= len(held) == 3


SPOILT = {
    "an edited body": ("UPDATE audit SET body = '{}' WHERE chain = 1 AND seq = 2", "edited"),
    "bytes for a body": ("UPDATE audit SET body = x'00' WHERE chain = 1 AND seq = 2", "edited"),
    "an edited time": ("UPDATE audit SET at = at + 1 WHERE chain = 1 AND seq = 2", "edited"),
    "an edited digest": ("UPDATE audit SET digest = x'00' WHERE chain = 1 AND seq = 2", "edited"),
    "a deleted entry": ("DELETE FROM audit WHERE chain = 1 AND seq = 2", "gap"),
    "a deleted first entry": ("DELETE FROM audit WHERE chain = 1 AND seq = 1", "gap"),
    "a cut tail": ("DELETE FROM audit WHERE chain = 1 AND seq >= 4", "cut"),
    "a whole chain gone": ("DELETE FROM audit WHERE chain = 2", "cut"),
    "a chain moved": ("UPDATE audit SET chain = 3 WHERE chain = 1", "edited"),
    "an edited seal": ("UPDATE audit_seal SET at = at + 1 WHERE n = 1", "seal_edited"),
    "a seal that is none": ("UPDATE audit_seal SET body = x'ff' WHERE n = 1", "seal_edited"),
    "a deleted seal": ("DELETE FROM audit_seal WHERE n = 1", "seal_gap"),
}


@pytest.mark.parametrize(("statement", "kind"), SPOILT.values(), ids=SPOILT)
async def test_a_change_shows(house: House, statement: str, kind: str) -> None:
    await sealed(house)
    sql_of(house.path, statement)
    assert kind in kinds(house)


@ON_A_FILE
async def test_a_word_for_a_time_shows(house: House) -> None:
    """A server refuses it."""
    await sealed(house)
    sql_of(house.path, "UPDATE audit SET at = 'x' WHERE chain = 1 AND seq = 2")
    assert "edited" in kinds(house)


async def test_two_entries_that_changed_places_show(house: House) -> None:
    await sealed(house)
    for old, new in ((2, 99), (3, 2), (99, 3)):
        sql_of(house.path, "UPDATE audit SET seq = ? WHERE chain = 1 AND seq = ?", new, old)
    assert kinds(house) == {"edited"}


async def test_a_tail_cut_with_its_seals_shows_by_the_seals_held_elsewhere(house: House) -> None:
    held = await sealed(house)
    sql_of(house.path, "DELETE FROM audit WHERE chain = 1 AND seq >= 4")
    sql_of(house.path, "DELETE FROM audit_seal WHERE n >= 3 AND org = ?", house.by.org)
    assert kinds(house) == set()
    assert kinds(house, held) == {"seal_missing"}


async def test_a_trail_written_anew_shows_by_the_seals_held_elsewhere(house: House) -> None:
    held = await sealed(house)
    org = house.by.org
    _write_anew(house, org)
    assert kinds(house) == set()
    assert kinds(house, held) == {"seal_edited", "seal_missing"}


def _write_anew(house: House, org: str) -> None:
    """What somebody can do who has the file and knows how the chain is made."""
    head = chain_start(org, 1)
    for row in sql_of(house.path, "SELECT * FROM audit WHERE org = ? AND chain = 1", org):
        entry = AuditRow(*row)
        body = entry.body.replace(b"ward system", b"somebody")
        digest = digest_of(head.digest, entry.seq, entry.at, body)
        sql_of(
            house.path,
            "UPDATE audit SET body = ?, digest = ? WHERE org = ? AND chain = 1 AND seq = ?",
            body,
            digest,
            org,
            entry.seq,
        )
        head = Head(entry.seq, digest)
    sql_of(house.path, "DELETE FROM audit_seal WHERE org = ?", org)
    seal = next_seal(org, None, {1: head}, 1)
    assert seal is not None
    sql_of(house.path, "INSERT INTO audit_seal VALUES (?, ?, ?, ?, ?)", *seal)


def test_the_digest_covers_every_part() -> None:
    parts = (bytes(32), 1, 2, b"{}")
    changed = [(b"\x01" * 32, 1, 2, b"{}"), (bytes(32), 2, 2, b"{}"), (bytes(32), 1, 3, b"{}")]
    changed.append((bytes(32), 1, 2, b"[]"))
    digests = {digest_of(*each) for each in [parts, *changed]}
    assert len(digests) == 5
    assert all(len(digest) == hashlib.sha256().digest_size for digest in digests)
