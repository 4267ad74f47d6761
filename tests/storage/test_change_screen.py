"""Does a screen change only by new versions, and its plan with it?"""

import pytest
from msgspec.structs import replace

from service.domain.problem import Conflict, NotFound, StaleVersion
from service.domain.record import PlanEventKind, ScreenStatus
from tests.storage.made import House, rows_of, screen


async def test_a_correction_is_a_new_version_with_a_new_plan(house: House) -> None:
    new = house.new(source_id="S-1")
    first = await house.store.keep(new)
    said = house.correction(new, 1, 30)
    kept = await house.store.correct(said)
    assert (kept.record.version, kept.record.status) == (2, ScreenStatus.AMENDED)
    assert kept.record.correction_reason == "wrong hour"
    assert kept.plan.plan.id == said.assessment.plan.id
    assert kept.plan.plan.screen_version == 2
    assert kept.plan.plan.replaces == first.plan.plan.id
    assert kept.plan.is_current
    old = await house.store.screen(house.by.org, new.screen_id, 1)
    assert old is not None
    assert old.record == first.record
    assert [event.kind for event in old.plan.events] == ["created", "superseded"]
    assert old.plan.events[-1].by_plan == kept.plan.plan.id


async def test_a_correction_that_moves_a_screen_back_lets_the_other_stand_again(
    house: House,
) -> None:
    other = await house.store.keep(house.new(at=10))
    new = house.new(at=20)
    await house.store.keep(new)
    kept = await house.store.correct(house.correction(new, 1, 5))
    assert not kept.plan.is_current
    assert kept.plan.plan.replaces is None
    assert [event.kind for event in kept.plan.events] == ["created", "superseded"]
    stands = await house.store.plan(house.by.org, other.plan.plan.id)
    assert stands is not None
    assert stands.is_current
    assert [event.kind for event in stands.events] == ["created", "superseded", "restored"]


async def test_a_correction_that_moves_a_screen_forward_takes_over(house: House) -> None:
    new = house.new(at=5)
    await house.store.keep(new)
    leading = await house.store.keep(house.new(at=10))
    kept = await house.store.correct(house.correction(new, 1, 20))
    assert kept.plan.plan.replaces == leading.plan.plan.id
    assert await house.current() == kept.plan.plan.id


async def test_a_correction_of_another_version_is_refused(house: House) -> None:
    new = house.new()
    await house.store.keep(new)
    await house.store.correct(house.correction(new, 1, 1))
    with pytest.raises(StaleVersion, match="version 2, not 1"):
        await house.store.correct(house.correction(new, 1, 2))
    assert rows_of(house.path, "screen") == 2


async def test_a_correction_cannot_hand_a_screen_to_another_person(house: House) -> None:
    new = house.new()
    await house.store.keep(new)
    await house.store.keep(house.new("H-2"))
    for value in ("H-2", "H-unknown"):
        said = replace(house.correction(new, 1, 1), content=screen(value))
        with pytest.raises(Conflict, match="another patient"):
            await house.store.correct(said)
    assert rows_of(house.path, "patient_id") == rows_of(house.path, "patient") == 2


async def test_a_withdrawn_screen_is_kept_and_the_plan_before_stands_again(house: House) -> None:
    first = await house.store.keep(house.new(at=5))
    new = house.new(at=10)
    await house.store.keep(new)
    kept = await house.store.withdraw(house.withdrawal(new.screen_id, 1))
    assert (kept.record.version, kept.record.status) == (2, ScreenStatus.WITHDRAWN)
    assert (kept.record.content, kept.record.correction_reason) == (new.content, "wrong patient")
    assert [event.kind for event in kept.plan.events] == ["created", "withdrawn"]
    assert kept.plan.events[-1].reason == "wrong patient"
    stands = await house.store.plan(house.by.org, first.plan.plan.id)
    assert stands is not None
    assert stands.is_current
    assert stands.events[-1].kind == PlanEventKind.RESTORED


async def test_withdrawing_the_only_screen_leaves_no_plan(house: House) -> None:
    new = house.new()
    await house.store.keep(new)
    await house.store.withdraw(house.withdrawal(new.screen_id))
    assert await house.current() is None
    kept = await house.store.keep(house.new(at=-50))
    assert kept.plan.is_current
    assert kept.plan.plan.replaces is None


async def test_withdrawing_twice_is_the_same_as_once(house: House) -> None:
    new = house.new()
    await house.store.keep(new)
    once = await house.store.withdraw(house.withdrawal(new.screen_id))
    assert await house.store.withdraw(house.withdrawal(new.screen_id)) == once
    with pytest.raises(StaleVersion):
        await house.store.withdraw(house.withdrawal(new.screen_id, 1))
    with pytest.raises(Conflict, match="withdrawn"):
        await house.store.correct(house.correction(new, 2, 1))


async def test_what_is_not_there_cannot_be_changed(house: House) -> None:
    new = house.new()
    with pytest.raises(NotFound):
        await house.store.correct(house.correction(new, 1, 1))
    with pytest.raises(NotFound):
        await house.store.withdraw(house.withdrawal(new.screen_id))
