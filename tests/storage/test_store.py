"""Is the record served by one process, told to the audit trail, and whole after a restart?"""

import asyncio
import gc
from datetime import timedelta

import msgspec
import pytest
from msgspec.structs import replace

from service.application.ports import AuditEntry, Merge, Once, Records
from service.domain.problem import KeyReused, NotFound, Refused
from service.storage.connection import StoreInUse
from service.storage.migrate import NewerDatabase
from service.storage.store import Store, open_store
from service.storage.verify import verify_audit
from tests.storage.made import ON_A_FILE, House, open_house, rows_of, sql_of


def told(house: House) -> list[dict[str, str | None]]:
    rows = sql_of(house.path, "SELECT body FROM audit WHERE chain = 1 ORDER BY seq")
    return [msgspec.json.decode(row[0]) for row in rows]


def test_the_store_is_the_record_the_use_cases_ask_for() -> None:
    def asks(records: type[Records]) -> type[Records]:
        return records

    assert asks(Store) is Store


@ON_A_FILE
async def test_a_second_process_is_refused_and_the_first_goes_on(house: House) -> None:
    with pytest.raises(StoreInUse):
        open_store(house.path, house.clock, house.new_id)
    await house.store.keep(house.new())


async def test_a_file_that_cannot_be_served_is_let_go_again(house: House) -> None:
    await house.store.close()
    sql_of(house.path, "UPDATE alembic_version SET version_num = '9999'")
    for _ in range(2):
        with pytest.raises(NewerDatabase):
            open_store(house.path, house.clock, house.new_id)


async def test_every_write_and_every_refusal_is_in_the_trail(house: House) -> None:
    once = Once("POST /v1/screens", "key-1", "digest-1")
    new = house.new(once=once)
    kept = await house.store.keep(new)
    await house.store.keep(replace(house.new(once=once), request_id="again"))
    with pytest.raises(KeyReused):
        await house.store.keep(house.new(once=replace(once, digest="other")))
    await house.store.correct(house.correction(new, 1, 3))
    await house.store.withdraw(house.withdrawal(new.screen_id))
    with pytest.raises(NotFound):
        await house.store.withdraw(house.withdrawal("nothing"))
    await house.store.audit(AuditEntry("plan.read", house.by, "r-9", "ok", "p-1", "t-1"))
    entries = told(house)
    assert [(one["action"], one["outcome"]) for one in entries] == [
        ("screen.record", "ok"),
        ("screen.record", "replayed"),
        ("screen.record", "KeyReused"),
        ("screen.correct", "ok"),
        ("screen.withdraw", "ok"),
        ("screen.withdraw", "NotFound"),
        ("plan.read", "ok"),
    ]
    assert entries[0]["patient"] == kept.record.patient_id
    assert entries[0]["target"] == new.screen_id
    assert entries[0]["credential"] == "cred-1"
    assert entries[6]["request_id"] == "r-9"
    assert "H-1007" not in str(entries)


async def test_merging_is_told_with_both_sides(house: House) -> None:
    a = (await house.store.keep(house.new("H-1"))).record.patient_id
    b = (await house.store.keep(house.new("H-2"))).record.patient_id
    stays = await house.store.merge(Merge(house.by, "r-1", a, b))
    assert (stays.id, stays.merged_into) == (b, None)
    entry = told(house)[-1]
    assert (entry["action"], entry["patient"], entry["target"]) == ("patient.merge", a, b)


async def test_all_is_there_after_a_restart_and_the_chain_goes_on(house: House) -> None:
    kept = [await house.store.keep(house.new(f"H-{n}")) for n in range(3)]
    await house.store.close()
    house.store = open_store(house.path, house.clock, house.new_id)
    await house.store.start()
    for one in kept:
        assert await house.store.screen(house.by.org, one.record.id) == one
    house.clock.go_on(days=-30)
    late = await house.store.keep(house.new("H-9"))
    assert late.record.recorded_at > kept[-1].record.recorded_at
    assert [row[0] for row in sql_of(house.path, "SELECT seq FROM audit WHERE chain = 1")] == [
        1,
        2,
        3,
        4,
    ]
    assert verify_audit(house.path).sound


async def test_a_check_writes_and_leaves_nothing(house: House) -> None:
    await house.store.check_writable()
    assert rows_of(house.path, "idempotency") == rows_of(house.path, "audit") - 1 == 0


@pytest.mark.parametrize("cursor", ["", "nonsense", "WzEsMl0"])
async def test_a_strange_cursor_is_refused_by_every_list(house: House, cursor: str) -> None:
    org, since = house.by.org, house.clock.now - timedelta(days=1)
    for reading in (
        house.store.screens_of(org, "p", 5, cursor),
        house.store.plans_of(org, "p", 5, cursor),
        house.store.screens_since(org, since, 5, cursor),
    ):
        with pytest.raises(Refused) as refused:
            await reading
        assert [fault.path for fault in refused.value.faults] == ["/cursor"]


async def test_a_target_hears_of_every_event_and_without_one_nothing_waits(house: House) -> None:
    await house.store.keep(house.new(at=1))
    assert rows_of(house.path, "outbox") == 0
    settings = b'{"delivery_targets":["default"]}'
    sql_of(house.path, "UPDATE organisation SET settings = ?", settings)
    new = house.new(at=2)
    kept = await house.store.keep(new)
    await house.store.withdraw(house.withdrawal(new.screen_id))
    waiting = sql_of(house.path, "SELECT target, ref, done FROM outbox ORDER BY rev")
    first, second = kept.plan.plan.replaces, kept.plan.plan.id
    assert waiting == [
        ("default", f"{second}/1", None),
        ("default", f"{first}/2", None),
        ("default", f"{second}/2", None),
        ("default", f"{first}/3", None),
    ]


@ON_A_FILE
async def test_closing_lets_the_file_go(house: House) -> None:
    await house.store.close()
    gc.collect()
    again = await open_house(house.path, house.clock)
    await asyncio.gather(again.store.keep(again.new()), again.store.keep(again.new("H-2")))
    await again.store.close()
    assert not house.file.with_name(house.file.name + "-wal").exists()
