"""Is an audit entry the same bytes for the same deed, and a chain bound to its place?"""

from service.application.ports import AuditEntry
from service.domain.record import Principal
from service.storage.chain import (
    Head,
    chain_start,
    entry_body,
    furthest,
    next_entry,
    next_seal,
    read_seal,
)


def test_an_entry_is_canonical_json() -> None:
    entry = AuditEntry("plan.read", Principal("o", "c", "Ward é"), "r", "ok", None, "t")
    assert entry_body(entry).decode() == (
        '{"action":"plan.read","credential":"c","name":"Ward é","outcome":"ok",'
        '"patient":null,"request_id":"r","target":"t"}'
    )


def test_no_two_chains_begin_alike() -> None:
    starts = {chain_start(org, chain).digest for org in ("a", "b") for chain in (1, 2)}
    assert len(starts) == 4


def test_an_entry_follows_the_one_before() -> None:
    first = next_entry("o", 1, chain_start("o", 1), 5, b"{}")
    second = next_entry("o", 1, Head(first.seq, first.digest), 5, b"{}")
    assert (first.seq, second.seq) == (1, 2)
    assert first.digest != second.digest


def test_a_seal_is_made_once_for_the_same_heads() -> None:
    heads = {2: Head(1, b"\x02"), 1: Head(7, b"\x01")}
    seal = next_seal("o", None, heads, 9)
    assert seal is not None
    assert read_seal(seal.body).heads == ((1, 7, "01"), (2, 1, "02"))
    assert next_seal("o", seal, heads, 10) is None
    later = next_seal("o", seal, heads | {1: Head(8, b"\x03")}, 10)
    assert later is not None
    assert (later.n, read_seal(later.body).previous) == (2, seal.digest.hex())


def test_a_chain_goes_on_from_what_this_process_wrote_where_the_record_is_behind_or_differs() -> (
    None
):
    mine = {
        "cut": Head(5, b"a"),
        "edited": Head(5, b"a"),
        "grown": Head(5, b"a"),
        "gone": Head(1, b"a"),
    }
    found = {
        "cut": Head(4, b"b"),
        "edited": Head(5, b"b"),
        "grown": Head(6, b"b"),
        "new": Head(1, b"b"),
    }
    assert furthest(mine, found) == {
        "cut": Head(5, b"a"),
        "edited": Head(5, b"a"),
        "grown": Head(6, b"b"),
        "gone": Head(1, b"a"),
        "new": Head(1, b"b"),
    }
