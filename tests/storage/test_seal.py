"""Are the chains sealed every minute and at the end, and told where nobody can change it?"""

import asyncio
import logging
from collections.abc import Callable

import msgspec
import pytest

from service.storage import seal
from service.storage.batch import Batch
from service.storage.chain import read_seal
from service.storage.rows import AuditSealRow
from service.storage.store import open_store
from service.storage.verify import HeldSeal, verify_audit
from tests.storage.made import House, rows_of, sql_of


def seals(house: House) -> list[AuditSealRow]:
    rows = sql_of(house.path, "SELECT * FROM audit_seal WHERE org = ?", house.by.org)
    return [AuditSealRow(*row) for row in rows]


async def test_a_seal_names_the_head_of_every_chain_and_the_seal_before(house: House) -> None:
    await house.store.keep(house.new())
    await seal.seal_now(house.store._writer)
    first, second = seals(house)
    heads = read_seal(second.body).heads
    assert [(chain, seq) for chain, seq, _ in heads] == [(1, 1), (2, 1)]
    assert read_seal(second.body).previous == first.digest.hex()
    assert first.n + 1 == second.n


async def test_where_nothing_was_written_nothing_is_sealed(house: House) -> None:
    await seal.seal_now(house.store._writer)
    await seal.seal_now(house.store._writer)
    assert len(seals(house)) == 1


async def test_the_log_stream_has_every_seal(
    house: House, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, logger="stanchion.audit")
    await house.store.keep(house.new())
    await house.store.close()
    lines = [one.getMessage() for one in caplog.records if one.name == "stanchion.audit"]
    assert lines
    assert all(line.startswith("seal {") for line in lines)
    held = [msgspec.json.decode(line.removeprefix("seal "), type=HeldSeal) for line in lines]
    assert held[-1] == HeldSeal(house.by.org, 2, seals(house)[-1].digest.hex())
    assert verify_audit(house.path, held).sound


async def test_sealing_goes_on_by_itself(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(seal, "SEAL_EVERY_S", 0.01)
    turning = asyncio.create_task(seal.seal_regularly(house.store._writer))
    await house.store.keep(house.new())
    for _ in range(500):
        if len(seals(house)) == 2:
            break
        await asyncio.sleep(0.01)
    turning.cancel()
    assert len(seals(house)) == 2


async def test_a_seal_that_cannot_be_written_is_told_and_not_lost(
    house: House, caplog: pytest.LogCaptureFixture
) -> None:
    await house.store.keep(house.new())
    await house.store.close()
    await seal.seal_now(house.store._writer)
    assert "could not be sealed" in caplog.text
    assert len(seals(house)) == 2


@pytest.mark.parametrize("body", ["no seal", '{"heads": 1}'])
async def test_a_seal_that_somebody_made_unreadable_stops_nothing_and_shows(
    house: House, body: str
) -> None:
    await house.store.keep(house.new())
    await seal.seal_now(house.store._writer)
    sql_of(house.path, "UPDATE audit_seal SET body = ?", body.encode())
    await house.store.close()
    again = open_store(house.path, house.clock, house.new_id)
    await again.start()
    await again.keep(house.new("H-2"))
    await again.close()
    report = verify_audit(house.path)
    assert {fault.kind for fault in report.faults} == {"seal_edited"}
    assert max(row.n for row in seals(house)) > 2


async def test_what_nobody_thought_of_does_not_end_the_sealing(
    house: House, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    turns: list[int] = []

    def torn(_: Batch) -> Callable[[], None]:
        turns.append(1)
        raise KeyError("Mara")

    monkeypatch.setattr(seal, "SEAL_EVERY_S", 0.01)
    monkeypatch.setattr(seal, "seal", torn)
    turning = asyncio.create_task(seal.seal_regularly(house.store._writer))
    for _ in range(500):
        if len(turns) > 4:
            break
        await asyncio.sleep(0.01)
    turning.cancel()
    assert len(turns) > 4
    assert "could not be sealed: KeyError" in caplog.text
    assert "Mara" not in caplog.text


async def test_old_keys_are_forgotten_with_the_seal(house: House) -> None:
    insert = "INSERT INTO idempotency VALUES ('o', 'c', 'p', 'k', 'd', 's', ?)"
    sql_of(house.path, insert, 1)
    await seal.seal_now(house.store._writer)
    assert rows_of(house.path, "idempotency") == 0
