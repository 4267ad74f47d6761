"""Does a screen enter the record once, whoever sends it how often?"""

import asyncio
from datetime import timedelta

import pytest
from msgspec.structs import replace

from service.application.ports import Once
from service.domain.problem import Conflict, KeyReused, NotFound
from service.domain.record import PlanEventKind, Principal, ScreenStatus
from service.storage.times import to_micros
from tests.storage.made import House, rows_of

ONCE = Once("POST /v1/screens", "key-1", "digest-1")


async def test_what_was_kept_is_what_is_read_back(house: House) -> None:
    new = house.new(source_id="S-1")
    kept = await house.store.keep(new)
    assert kept.record.content == new.content
    assert str(kept.record.content.patient.mass_kg) == "71.50"
    assert (kept.record.version, kept.record.status) == (1, ScreenStatus.FINAL)
    assert kept.record.recorded_by == "ward system"
    assert timedelta() <= kept.record.recorded_at - house.clock.now < timedelta(milliseconds=1)
    assert kept.plan.is_current
    assert kept.plan.plan.patient_id == kept.record.patient_id
    assert [event.kind for event in kept.plan.events] == [PlanEventKind.CREATED]
    assert await house.store.screen(house.by.org, new.screen_id) == kept
    assert await house.store.plan(house.by.org, new.assessment.plan.id) == kept.plan


async def test_the_same_key_and_body_give_the_first_answer(house: House) -> None:
    first = await house.store.keep(house.new(once=ONCE))
    again = await house.store.keep(house.new(once=ONCE))
    assert again == replace(first, replayed=True)
    assert rows_of(house.path, "screen") == rows_of(house.path, "plan") == 1


async def test_a_replay_gives_the_first_version_even_after_a_correction(house: House) -> None:
    new = house.new(once=ONCE)
    first = await house.store.keep(new)
    await house.store.correct(house.correction(new, 1, 30))
    again = await house.store.keep(house.new(once=ONCE))
    assert again.record == first.record
    assert again.plan.plan == first.plan.plan
    assert not again.plan.is_current


async def test_the_same_key_with_another_body_is_refused(house: House) -> None:
    await house.store.keep(house.new(once=ONCE))
    with pytest.raises(KeyReused):
        await house.store.keep(house.new(once=replace(ONCE, digest="digest-2")))
    assert rows_of(house.path, "screen") == 1


async def test_eight_at_once_with_one_key_make_one_record(house: House) -> None:
    kept = await asyncio.gather(*(house.store.keep(house.new(once=ONCE)) for _ in range(8)))
    assert len({one.record.id for one in kept}) == 1
    assert sorted(one.replayed for one in kept) == [False] + [True] * 7
    assert rows_of(house.path, "screen") == rows_of(house.path, "idempotency") == 1


async def test_keys_of_two_credentials_and_operations_do_not_meet(house: House) -> None:
    other = Principal(house.by.org, "cred-2", "pharmacy")
    await house.store.keep(house.new(once=ONCE))
    await house.store.keep(replace(house.new(once=ONCE), principal=other))
    await house.store.keep(house.new(once=replace(ONCE, operation="POST /v1/import")))
    assert rows_of(house.path, "screen") == 3


async def test_a_key_is_forgotten_after_a_week_and_may_be_used_again(house: House) -> None:
    await house.store.keep(house.new(once=ONCE))
    house.clock.go_on(days=7)
    assert (await house.store.keep(house.new(once=ONCE))).replayed
    house.clock.now += timedelta(microseconds=10)
    assert not (await house.store.keep(house.new(once=ONCE))).replayed
    assert rows_of(house.path, "idempotency") == 1


async def test_the_senders_id_alone_keeps_a_screen_single(house: House) -> None:
    first = await house.store.keep(house.new(source_id="S-1"))
    again = await house.store.keep(house.new(source_id="S-1"))
    assert again == replace(first, replayed=True)
    with pytest.raises(Conflict) as refused:
        await house.store.keep(house.new(at=5, source_id="S-1"))
    assert [fault.path for fault in refused.value.faults] == ["/source_id"]
    assert rows_of(house.path, "screen") == 1


async def test_one_senders_id_twice_in_one_batch_is_one_screen(house: House) -> None:
    news = [
        house.new(source_id="S-1"),
        house.new(source_id="S-1"),
        house.new(at=9, source_id="S-1"),
    ]
    kept = await asyncio.gather(*map(house.store.keep, news), return_exceptions=True)
    assert isinstance(kept[2], Conflict)
    assert rows_of(house.path, "screen") == 1


async def test_a_key_given_to_a_known_senders_id_answers_from_then_on(house: House) -> None:
    first = await house.store.keep(house.new(source_id="S-1"))
    assert (await house.store.keep(house.new(once=ONCE, source_id="S-1"))).replayed
    again = await house.store.keep(house.new(at=9, once=ONCE))
    assert again.record == first.record


async def test_a_late_older_screen_is_kept_and_supersedes_nothing(house: House) -> None:
    newer = await house.store.keep(house.new(at=10))
    older = await house.store.keep(house.new(at=5))
    assert not older.plan.is_current
    assert older.plan.plan.replaces is None
    told = [(event.kind, event.by_plan) for event in older.plan.events]
    assert told == [(PlanEventKind.CREATED, None), (PlanEventKind.SUPERSEDED, newer.plan.plan.id)]
    assert await house.store.plan(house.by.org, newer.plan.plan.id) == newer.plan


async def test_a_newer_screen_takes_over_and_says_from_which(house: House) -> None:
    older = await house.store.keep(house.new(at=5))
    newer = await house.store.keep(house.new(at=10))
    assert newer.plan.is_current
    assert newer.plan.plan.replaces == older.plan.plan.id
    before = await house.store.plan(house.by.org, older.plan.plan.id)
    assert before is not None
    assert not before.is_current
    assert before.events[-1].kind == PlanEventKind.SUPERSEDED
    assert before.events[-1].by_plan == newer.plan.plan.id


async def test_an_answer_knows_of_a_later_write_in_its_own_batch(house: House) -> None:
    kept = await asyncio.gather(*(house.store.keep(house.new(at=at)) for at in (1, 2, 3)))
    assert [one.plan.is_current for one in kept] == [False, False, True]
    for one in kept:
        assert await house.store.screen(house.by.org, one.record.id) == one


async def test_rows_are_dated_in_the_order_they_were_written(house: House) -> None:
    first = await house.store.keep(house.new())
    house.clock.go_on(hours=-3)
    second = await house.store.keep(house.new(at=1))
    assert to_micros(second.record.recorded_at) == to_micros(first.record.recorded_at) + 1


async def test_an_unknown_organisation_keeps_nothing(house: House) -> None:
    stranger = Principal("00000000-0000-7000-8000-000000000000", "cred-9", "nobody")
    with pytest.raises(NotFound):
        await house.store.keep(replace(house.new(), principal=stranger))
    assert rows_of(house.path, "screen") == rows_of(house.path, "patient") == 0
