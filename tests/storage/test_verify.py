"""Does every way of changing the audit trail show?"""

import hashlib
from collections.abc import Iterable
from typing import Any

import pytest

from service.storage import statements_sqlite as sql
from service.storage import verify
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
    "a chain moved to another organisation": (
        "UPDATE audit SET org = 'x' WHERE chain = 1",
        "edited",
    ),
    "all entries gone, the seals there": ("DELETE FROM audit", "cut"),
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


async def test_two_entries_that_changed_their_words_and_digests_show(house: House) -> None:
    await sealed(house)
    statement = "SELECT body, digest FROM audit WHERE org = ? AND chain = 1 AND seq = ?"
    words = [sql_of(house.path, statement, house.by.org, seq)[0] for seq in (2, 3)]
    for seq, (body, digest) in zip((3, 2), words, strict=True):
        sql_of(
            house.path,
            "UPDATE audit SET body = ?, digest = ? WHERE org = ? AND chain = 1 AND seq = ?",
            body,
            digest,
            house.by.org,
            seq,
        )
    assert "edited" in kinds(house)


GONE = ("audit", "audit_seal")


async def test_a_trail_gone_with_its_seals_shows_while_the_organisation_is_there(
    house: House,
) -> None:
    await sealed(house)
    for table in GONE:
        sql_of(house.path, f"DELETE FROM {table} WHERE org = ?", house.by.org)  # noqa: S608
    (fault,) = verify_audit(house.path).faults
    assert (fault.org, fault.kind) == (house.by.org, "missing")


async def test_a_trail_gone_with_its_organisation_shows_by_the_seals_held_elsewhere(
    house: House,
) -> None:
    held = await sealed(house)
    for table in (*GONE, "organisation"):
        sql_of(house.path, f"DELETE FROM {table} WHERE org = ?", house.by.org)  # noqa: S608
    assert kinds(house) == set()
    found = verify_audit(house.path, held).faults
    assert [(fault.org, fault.kind) for fault in found] == [
        (house.by.org, "seal_missing") for _ in held
    ]


async def test_more_faults_than_anybody_reads_are_counted(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    await sealed(house)
    monkeypatch.setattr(verify, "MOST_FAULTS", 2)
    sql_of(house.path, "UPDATE audit SET digest = x'00'")
    report = verify_audit(house.path)
    assert not report.sound
    assert len(report.faults) == 2
    assert report.more > 2


async def test_a_trail_is_read_row_by_row(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a long trail no more is in memory than of a short one: rows are never fetched whole."""
    await sealed(house)
    asked: list[str] = []
    stream = verify._stream

    def watched(connection: Any, statement: str) -> Iterable[tuple[Any, ...]]:
        rows = stream(connection, statement)
        assert not isinstance(rows, (list, tuple))
        asked.append(statement)
        return rows

    monkeypatch.setattr(verify, "_stream", watched)
    assert verify_audit(house.path).sound
    assert asked == [sql.AUDIT_TRAIL, sql.AUDIT_SEALS]


async def test_a_tail_cut_with_its_seals_shows_by_the_seals_held_elsewhere(house: House) -> None:
    held = await sealed(house)
    sql_of(house.path, "DELETE FROM audit WHERE chain = 1 AND seq >= 4")
    sql_of(house.path, "DELETE FROM audit_seal WHERE n >= 3 AND org = ?", house.by.org)
    assert kinds(house) == set()
    assert kinds(house, held) == {"seal_missing"}


async def test_a_trail_written_anew_shows_by_the_seals_held_elsewhere(house: House) -> None:
    held = await sealed(house)
    org = house.by.org
    write_anew(house, org)
    _seal_anew(house, org)
    assert kinds(house) == set()
    assert kinds(house, held) == {"seal_edited", "seal_missing"}


def write_anew(house: House, org: str, from_seq: int = 1) -> None:
    """What somebody can do who has the file and knows how the chain is made."""
    head = chain_start(org, 1)
    for row in sql_of(
        house.path, "SELECT * FROM audit WHERE org = ? AND chain = 1 ORDER BY seq", org
    ):
        entry = AuditRow(*row)
        if entry.seq < from_seq:
            head = Head(entry.seq, entry.digest)
            continue
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


def _seal_anew(house: House, org: str) -> None:
    last = "SELECT * FROM audit WHERE org = ? AND chain = 1 ORDER BY seq DESC LIMIT 1"
    entry = AuditRow(*sql_of(house.path, last, org)[0])
    sql_of(house.path, "DELETE FROM audit_seal WHERE org = ?", org)
    seal = next_seal(org, None, {1: Head(entry.seq, entry.digest)}, 1)
    assert seal is not None
    sql_of(house.path, "INSERT INTO audit_seal VALUES (?, ?, ?, ?, ?)", *seal)


def test_the_digest_covers_every_part() -> None:
    parts = (bytes(32), 1, 2, b"{}")
    changed = [(b"\x01" * 32, 1, 2, b"{}"), (bytes(32), 2, 2, b"{}"), (bytes(32), 1, 3, b"{}")]
    changed.append((bytes(32), 1, 2, b"[]"))
    digests = {digest_of(*each) for each in [parts, *changed]}
    assert len(digests) == 5
    assert all(len(digest) == hashlib.sha256().digest_size for digest in digests)
