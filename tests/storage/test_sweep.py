"""Is a plan whose time ran out written down once, with nobody reading it, and no other plan?"""

import asyncio
from collections.abc import Iterable

import pytest

from service.application.ports import Merge
from service.domain.problem import Unavailable
from service.storage import sweep
from service.storage.watch import Watch
from service.storage.writer import Writer
from tests.storage.made import House, rows_of, sql_of

_LAPSED = "SELECT plan, actor, at FROM plan_event WHERE kind = 'lapsed' ORDER BY plan"
_DUE = "SELECT count(*) FROM patient WHERE current_until IS NOT NULL"


class Counted(Watch):
    """Adds up what it is told."""

    def __init__(self) -> None:
        self.lapses = 0

    def committed(self, size: int, seconds: float) -> None: ...
    def planned(self, chosen: Iterable[tuple[str, str]]) -> None: ...
    def lapsed(self, count: int) -> None:
        self.lapses += count


async def swept(house: House, watch: Watch | None = None) -> int:
    return await sweep.sweep_now(house.store._writer, watch or Counted())


async def test_what_is_due_is_lapsed_once_and_audited(house: House) -> None:
    early, late = house.new("H-1", 0), house.new("H-2", 60)
    await house.store.keep(early)
    await house.store.keep(late)
    house.clock.go_on(hours=24, minutes=30)
    watch = Counted()
    assert await swept(house, watch) == 1
    assert await swept(house, watch) == 0
    assert watch.lapses == 1
    ((plan, actor, _),) = sql_of(house.path, _LAPSED)
    assert (plan, actor) == (early.assessment.plan.id, "the clock")
    assert b"plan.lapse" in sql_of(house.path, "SELECT body FROM audit ORDER BY seq DESC")[0][0]
    house.clock.go_on(hours=1)
    assert await swept(house, watch) == 1


async def test_a_plan_is_due_from_the_moment_its_time_is_over(house: House) -> None:
    new = house.new()
    await house.store.keep(new)
    house.clock.now = new.assessment.plan.valid_until.replace(microsecond=0)
    house.clock.go_on(microseconds=-1)
    assert await swept(house) == 0
    house.clock.go_on(microseconds=1)
    assert await swept(house) == 1


async def test_what_a_reader_wrote_down_first_is_not_written_again(house: House) -> None:
    new = house.new()
    await house.store.keep(new)
    house.clock.go_on(hours=30)
    await house.store.lapse(house.by, new.assessment.plan.id, house.clock.now)
    assert sql_of(house.path, _DUE) == [(0,)]
    assert await swept(house) == 0
    assert len(sql_of(house.path, _LAPSED)) == 1


async def test_only_the_current_plan_lapses_and_one_that_stands_again_does(house: House) -> None:
    first, second = house.new(at=0), house.new(at=60)
    await house.store.keep(first)
    await house.store.keep(second)
    house.clock.go_on(hours=24, minutes=30)
    assert await swept(house) == 0
    await house.store.withdraw(house.withdrawal(second.screen_id))
    assert await swept(house) == 1
    ((plan, _, _),) = sql_of(house.path, _LAPSED)
    assert plan == first.assessment.plan.id


async def test_a_merged_patients_plan_lapses_where_it_stands_now(house: House) -> None:
    gone, stays = house.new("H-1"), house.new("H-2", -60)
    kept = [await house.store.keep(new) for new in (gone, stays)]
    ids = [one.record.patient_id for one in kept]
    await house.store.merge(Merge(house.by, "r", ids[0], ids[1]))
    house.clock.go_on(hours=25)
    assert await swept(house) == 1
    assert sql_of(house.path, _DUE) == [(0,)]


async def test_many_are_written_a_bounded_number_a_transaction(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sweep, "MOST_AT_ONCE", 3)
    for number in range(7):
        await house.store.keep(house.new(f"H-{number}"))
    house.clock.go_on(hours=25)
    assert await swept(house) == 7
    moments = {at for _, _, at in sql_of(house.path, _LAPSED)}
    assert (len(sql_of(house.path, _LAPSED)), len(moments)) == (7, 3)
    assert rows_of(house.path, "patient") == 7


@pytest.mark.parametrize(
    ("failure", "said"),
    [(Unavailable("The record is busy."), "The record is busy."), (KeyError("Mara"), "KeyError")],
)
async def test_it_turns_by_itself_and_goes_on_after_a_failure(
    failure: Exception,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    monkeypatch.setattr(sweep, "SWEEP_EVERY_S", 0.01)
    calls: list[int] = []

    class Torn:
        async def submit(self, _decide: object) -> tuple[int, int]:
            calls.append(1)
            if len(calls) == 1:
                raise failure
            return 0, 0

    torn: Writer = Torn()  # type: ignore[assignment]
    turning = asyncio.create_task(sweep.sweep_regularly(torn, Counted()))
    for _ in range(500):
        if len(calls) > 2:
            break
        await asyncio.sleep(0.01)
    turning.cancel()
    assert len(calls) > 2
    assert f"could not be written down: {said}" in caplog.text
    assert "Mara" not in caplog.text
