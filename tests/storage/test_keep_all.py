"""Do several writes enter the record together, and is nothing left of them when one cannot?"""

import asyncio

import msgspec
import pytest

from service.application.ports import NewScreen, Once, Undone, Write
from service.domain.problem import Conflict, KeyReused, NotFound, StaleVersion
from service.domain.record import PlanEventKind, ScreenStatus
from service.storage.verify import verify_audit
from tests.storage.made import House, rows_of, sql_of

TABLES = ("screen", "plan", "plan_event", "patient", "patient_id", "idempotency", "outbox")


def told(house: House) -> list[tuple[str, str]]:
    rows = sql_of(house.path, "SELECT body FROM audit WHERE chain = 1 ORDER BY seq")
    entries = [msgspec.json.decode(row[0]) for row in rows]
    return [(one["action"], one["outcome"]) for one in entries]


def kept(house: House) -> dict[str, int]:
    return {table: rows_of(house.path, table) for table in TABLES}


async def test_all_are_kept_in_their_order_and_each_is_told(house: House) -> None:
    first, second = house.new("H-1"), house.new("H-2")
    await house.store.keep(first)
    await house.store.keep(second)
    new = house.new("H-3")
    done = await house.store.keep_all(
        (new, house.correction(first, 1, 3), house.withdrawal(second.screen_id))
    )
    assert [one.record.id for one in done] == [new.screen_id, first.screen_id, second.screen_id]
    assert [one.record.status for one in done] == [
        ScreenStatus.FINAL,
        ScreenStatus.AMENDED,
        ScreenStatus.WITHDRAWN,
    ]
    assert told(house)[2:] == [
        ("screen.record", "ok"),
        ("screen.correct", "ok"),
        ("screen.withdraw", "ok"),
    ]
    assert await house.current("H-2") is None
    for one in done:
        assert await house.store.screen(house.by.org, one.record.id) == one


async def test_two_screens_of_one_new_person_make_one_patient_and_one_current_plan(
    house: House,
) -> None:
    late, early = house.new(at=5), house.new(at=1)
    first, second = await house.store.keep_all((late, early))
    assert first.record.patient_id == second.record.patient_id
    assert await house.current() == late.assessment.plan.id
    assert [event.kind for event in second.plan.events] == [
        PlanEventKind.CREATED,
        PlanEventKind.SUPERSEDED,
    ]
    assert rows_of(house.path, "patient") == 1


def _taken(house: House) -> NewScreen:
    return house.new("H-9", at=9, source_id="S-1")


async def test_nothing_is_left_of_any_when_the_last_one_cannot_be(house: House) -> None:
    first = house.new("H-1", source_id="S-1")
    await house.store.keep(first)
    before, entries = kept(house), len(told(house))
    once = Once("fhir.transaction", "k#0", "digest")
    for last, kind in (
        (_taken(house), Conflict),
        (house.correction(first, 7, 3), StaleVersion),
        (house.withdrawal("nowhere"), NotFound),
    ):
        writes: tuple[Write, ...] = (
            house.new("H-2", once=once),
            house.correction(first, 1, 4),
            last,
        )
        with pytest.raises(Undone) as undone:
            await house.store.keep_all(writes)
        assert {index: type(one) for index, one in undone.value.problems.items()} == {2: kind}
        assert kept(house) == before
        assert [outcome for _, outcome in told(house)[-3:]] == ["undone", "undone", kind.__name__]
    assert len(told(house)) == entries + 9
    assert verify_audit(house.path).sound
    assert await house.current("H-1") == first.assessment.plan.id


async def test_what_was_undone_can_be_sent_again(house: House) -> None:
    once = Once("fhir.transaction", "k#0", "digest")
    new = house.new("H-2", once=once, source_id="S-2")
    with pytest.raises(Undone):
        await house.store.keep_all((new, house.withdrawal("nowhere")))
    (again,) = await house.store.keep_all((new,))
    assert (again.record.id, again.replayed) == (new.screen_id, False)


async def test_writes_of_others_in_the_same_batch_stand(house: House) -> None:
    others = [house.new(f"H-{number}") for number in range(3)]
    bad = (house.new("H-0", at=7), house.withdrawal("nowhere"))
    good = (house.new("H-7"), house.new("H-8"))
    done = await asyncio.gather(
        house.store.keep(others[0]),
        house.store.keep_all(bad),
        house.store.keep(others[1]),
        house.store.keep_all(good),
        house.store.keep(others[2]),
        return_exceptions=True,
    )
    assert isinstance(done[1], Undone)
    assert rows_of(house.path, "screen") == 5
    assert await house.current("H-0") == others[0].assessment.plan.id
    assert verify_audit(house.path).sound


async def test_a_repeated_key_is_answered_as_before_and_another_body_undoes_all(
    house: House,
) -> None:
    once = Once("fhir.transaction", "k#0", "digest")
    (first,) = await house.store.keep_all((house.new(once=once),))
    again, other = await house.store.keep_all((house.new(once=once), house.new("H-5")))
    assert (again.record, again.replayed) == (first.record, True)
    assert not other.replayed
    with pytest.raises(Undone) as undone:
        await house.store.keep_all((house.new(once=Once(once.operation, once.key, "other")),))
    assert isinstance(undone.value.problems[0], KeyReused)


async def test_a_constraint_that_stands_in_the_way_undoes_all(house: House) -> None:
    first = house.new("H-1")
    await house.store.keep(first)
    double = house.new("H-2")
    clash = NewScreen(
        double.principal, "r", first.screen_id, double.content, double.assessment, None
    )
    before = kept(house)
    with pytest.raises(Conflict):
        await house.store.keep_all((house.new("H-3"), clash))
    assert kept(house) == before


async def test_a_screen_is_found_by_the_id_its_sender_gave_it(house: House) -> None:
    new = house.new(source_id="urn:x|1")
    await house.store.keep(new)
    await house.store.correct(house.correction(new, 1, 3))
    found = await house.store.screen_of_source(house.by.org, "urn:x|1")
    assert found is not None
    assert (found.record.id, found.record.version) == (new.screen_id, 2)
    assert await house.store.screen_of_source("org-of-others", "urn:x|1") is None
    assert await house.store.screen_of_source(house.by.org, "urn:x|2") is None
