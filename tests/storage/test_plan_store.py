"""Does the store count a plan that was ended, and say where one is not to be had?"""

from service.application.plan_ports import Ending
from tests.storage.made import House


class Counting:
    """A watch that counts what lapsed."""

    def __init__(self) -> None:
        self.counted: list[int] = []

    def lapsed(self, count: int) -> None:
        self.counted.append(count)


async def test_a_plan_that_was_ended_is_counted_once(house: House) -> None:
    kept = await house.store.keep(house.new())
    watch = Counting()
    house.store._watch = watch  # type: ignore[assignment]
    ending = Ending(house.by, "request", kept.plan.plan.id, None, "A fall.")
    await house.store.end(ending)
    await house.store.end(ending)
    assert sum(watch.counted) == 1


async def test_a_plan_is_read_by_its_id_and_as_the_one_that_stands(house: House) -> None:
    kept = await house.store.keep(house.new())
    plan, patient = kept.plan.plan.id, kept.record.patient_id
    assert await house.store.plan(house.by.org, plan) == kept.plan
    assert await house.store.current_plan(house.by.org, patient) == kept.plan
    assert await house.store.plan("another", plan) is None
    assert await house.store.current_plan("another", patient) is None
