"""Is one person one patient, and can two records of one person be joined?"""

import asyncio

import pytest

from service.application.ports import Merge
from service.domain.problem import Conflict, NotFound
from service.domain.value import Identifier
from service.storage.documents import decode_patient
from service.storage.rows import PatientRow
from tests.storage.made import HOSPITAL, House, open_house, row_of, rows_of

CLINIC = Identifier(system="urn:oid:2.999.77", value="C-5")


async def test_one_identifier_is_one_patient_however_many_post_at_once(house: House) -> None:
    news = [house.new("H-1", at) for at in range(6)] + [house.new("H-2")]
    kept = await asyncio.gather(*map(house.store.keep, news))
    assert len({one.record.patient_id for one in kept[:6]}) == 1
    assert kept[6].record.patient_id != kept[0].record.patient_id
    assert rows_of(house.path, "patient") == 2


async def test_two_organisations_know_one_person_by_different_ids(house: House) -> None:
    here = await house.store.keep(house.new("H-1"))
    await house.store.close()
    other = await open_house(house.path, house.clock)
    there = await other.store.keep(other.new("H-1"))
    assert here.record.patient_id != there.record.patient_id
    house.store = other.store


async def test_another_identifier_finds_the_patient_too(house: House) -> None:
    kept = await house.store.keep(house.new("H-1", more=(CLINIC,)))
    found = await house.store.find_patient(house.by.org, CLINIC.system, CLINIC.value)
    assert found is not None
    assert found.id == kept.record.patient_id


async def test_a_screen_never_moves_an_identifier_to_another_patient(house: House) -> None:
    owner = await house.store.keep(house.new("H-1", more=(CLINIC,)))
    other = await house.store.keep(house.new("H-2", more=(CLINIC,)))
    found = await house.store.find_patient(house.by.org, CLINIC.system, CLINIC.value)
    assert found is not None
    assert found.id == owner.record.patient_id != other.record.patient_id


async def joined(house: House, patient: str, into: str) -> str:
    merge = Merge(house.by, house.request(), patient, into)
    return (await house.store.merge(merge)).id


@pytest.mark.parametrize(("ours", "theirs"), [(5, 10), (10, 5)])
async def test_the_later_plan_of_two_joined_records_stands(
    house: House, ours: int, theirs: int
) -> None:
    stays = await house.store.keep(house.new("H-1", ours))
    gone = await house.store.keep(house.new("H-2", theirs))
    assert await joined(house, gone.record.patient_id, stays.record.patient_id) == (
        stays.record.patient_id
    )
    later, earlier = (stays, gone) if ours > theirs else (gone, stays)
    assert await house.current("H-1") == await house.current("H-2") == later.plan.plan.id
    stands = await house.store.plan(house.by.org, later.plan.plan.id)
    fell = await house.store.plan(house.by.org, earlier.plan.plan.id)
    assert stands is not None
    assert fell is not None
    assert (stands.is_current, fell.is_current) == (True, False)
    assert [event.kind for event in fell.events] == ["created", "superseded"]
    assert fell.events[1].by_plan == later.plan.plan.id


@pytest.mark.parametrize("planless", ["H-1", "H-2"])
async def test_a_record_without_a_plan_takes_or_leaves_the_others(
    house: House, planless: str
) -> None:
    kept = {value: await house.store.keep(house.new(value)) for value in ("H-1", "H-2")}
    await house.store.withdraw(house.withdrawal(kept[planless].record.id))
    await joined(house, kept["H-2"].record.patient_id, kept["H-1"].record.patient_id)
    other = "H-2" if planless == "H-1" else "H-1"
    assert await house.current("H-1") == kept[other].plan.plan.id
    stands = await house.store.plan(house.by.org, kept[other].plan.plan.id)
    assert stands is not None
    assert stands.is_current
    told = ["created", "restored"] if planless == "H-1" else ["created"]
    assert [event.kind for event in stands.events] == told


async def test_a_joined_record_names_the_one_that_stays_and_shares_its_history(
    house: House,
) -> None:
    stays = await house.store.keep(house.new("H-1", 1))
    gone = await house.store.keep(house.new("H-2", 2))
    a, b = gone.record.patient_id, stays.record.patient_id
    await joined(house, a, b)
    record = await house.store.patient(house.by.org, a)
    assert record is not None
    assert (record.merged_into, record.current_plan) == (b, None)
    for asked in (a, b):
        page = await house.store.screens_of(house.by.org, asked, 10, None)
        assert [one.id for one in page.items] == [gone.record.id, stays.record.id]
        plans = await house.store.plans_of(house.by.org, asked, 10, None)
        assert [one.is_current for one in plans.items] == [True, False]


async def test_new_screens_of_a_joined_record_go_to_the_one_that_stays(house: House) -> None:
    stays = await house.store.keep(house.new("H-1", 1))
    gone = await house.store.keep(house.new("H-2", 2))
    await joined(house, gone.record.patient_id, stays.record.patient_id)
    new = await house.store.keep(house.new("H-2", 3))
    assert new.record.patient_id == stays.record.patient_id
    assert new.plan.plan.replaces == gone.plan.plan.id
    await house.store.withdraw(house.withdrawal(new.record.id))
    await house.store.withdraw(house.withdrawal(gone.record.id))
    assert await house.current("H-2") == stays.plan.plan.id


async def test_chains_of_joins_lead_to_the_last_one_in_one_step(house: House) -> None:
    ids = [(await house.store.keep(house.new(f"H-{n}", n))).record.patient_id for n in range(3)]
    await joined(house, ids[0], ids[1])
    await joined(house, ids[1], ids[2])
    for patient in ids[:2]:
        record = await house.store.patient(house.by.org, patient)
        assert record is not None
        assert record.merged_into == ids[2]
    page = await house.store.screens_of(house.by.org, ids[0], 10, None)
    assert len(page.items) == 3
    row = PatientRow(*row_of(house.path, "patient", ids[0]))
    document = decode_patient(row.schema_no, row.body)
    assert document.merged_by == "ward system"
    assert document.merged_at is not None


async def test_joining_twice_is_once_and_joining_round_in_a_ring_is_refused(house: House) -> None:
    a, b, c = [(await house.store.keep(house.new(f"H-{n}"))).record.patient_id for n in range(3)]
    assert await joined(house, a, b) == await joined(house, a, b) == b
    with pytest.raises(Conflict, match="other way round"):
        await joined(house, b, a)
    with pytest.raises(Conflict, match="merged into another"):
        await joined(house, a, c)
    with pytest.raises(NotFound):
        await joined(house, "nobody", b)
    with pytest.raises(NotFound):
        await joined(house, c, "nobody")


async def test_joining_within_one_batch_with_screens_keeps_every_screen(house: House) -> None:
    a = (await house.store.keep(house.new("H-1", 1))).record.patient_id
    b = (await house.store.keep(house.new("H-2", 2))).record.patient_id
    before, _, after = await asyncio.gather(
        house.store.keep(house.new("H-1", 3)),
        joined(house, a, b),
        house.store.keep(house.new("H-1", 4)),
    )
    assert not before.plan.is_current
    assert after.record.patient_id == b
    assert after.plan.plan.replaces == before.plan.plan.id
    found = await house.store.find_patient(house.by.org, HOSPITAL, "H-1")
    assert found is not None
    assert (found.id, found.current_plan) == (b, after.plan.plan.id)
