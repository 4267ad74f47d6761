"""Does a search of the record give each row once, in its order, from any place on?"""

from collections.abc import Awaitable, Callable
from datetime import timedelta

import pytest

from service.application.ports import Merge
from service.application.search_ports import By, Look
from service.domain.problem import Refused
from service.domain.value import Identifier
from tests.storage.looks import Found, keys, look, plans_of, ward
from tests.storage.made import HOSPITAL, MORNING, House

Find = Callable[[str, Look], Awaitable[Found]]


@pytest.mark.parametrize("down", [True, False])
@pytest.mark.parametrize("by", list(By))
async def test_every_stretch_gives_the_same_rows_in_one_order(
    house: House,
    by: By,
    down: bool,  # noqa: FBT001
) -> None:
    people = await ward(house)
    org = house.by.org
    finds: list[Find] = [house.store.find_screens, house.store.find_plans]
    for find in finds:
        for patients in (None, tuple(people), tuple(people[:1])):
            whole = await find(org, look(by, down=down, patients=patients))
            other = await find(org, look(by, down=not down, patients=patients))
            assert keys(whole) == keys(other)[::-1]
            assert len(set(keys(whole))) == len(whole) > 0
            for limit in (1, 2, 3):
                paged: list[str] = []
                after: str | None = None
                while True:
                    some = await find(
                        org, look(by, down=down, limit=limit, patients=patients, after=after)
                    )
                    paged += keys(some)
                    if len(some) < limit:
                        break
                    after = some[-1].cursor
                assert paged == keys(whole)
            for number, one in enumerate(whole):
                again = await find(org, look(by, down=down, patients=patients, after=one.begin))
                assert keys(again) == keys(whole)[number:]


async def test_by_observed_a_screen_is_found_once_and_by_changed_once_a_version(
    house: House,
) -> None:
    await ward(house)
    org = house.by.org
    observed = await house.store.find_screens(org, look(By.OBSERVED, down=False))
    assert [one.version for one in observed] == [1, 1, 1, 2]
    times = [one.versions[-1].screen.content.observed_at for one in observed]
    assert times == sorted(times)
    changed = await house.store.find_screens(org, look(By.CHANGED, down=False))
    assert [one.version for one in changed] == [1, 1, 1, 1, 2]
    assert [len(one.versions) for one in changed] == [2, 1, 1, 1, 2]
    recorded = [one.versions[one.version - 1].screen.recorded_at for one in changed]
    assert recorded == sorted(recorded)


async def test_a_plan_stands_at_its_last_event_and_at_its_own_hour(house: House) -> None:
    await ward(house)
    changed = await plans_of(house, look(By.CHANGED, down=True))
    at = [one.plan.events[-1].at for one in changed]
    assert at == sorted(at, reverse=True)
    assert len({one.plan.plan.id for one in changed}) == len(changed) == 5
    observed = await plans_of(house, look(By.OBSERVED, down=True))
    begin = [one.plan.plan.valid_from for one in observed]
    assert begin == sorted(begin, reverse=True)
    for one in observed:
        assert (one.record.id, one.record.version) == (
            one.plan.plan.screen_id,
            one.plan.plan.screen_version,
        )


async def test_both_bounds_are_included(house: House) -> None:
    await ward(house)
    low, high = MORNING + timedelta(minutes=2), MORNING + timedelta(minutes=5)
    found = await house.store.find_screens(
        house.by.org, look(By.OBSERVED, down=False, low=low, high=high)
    )
    times = [one.versions[-1].screen.content.observed_at for one in found]
    assert (times[0], times[-1], len(times)) == (low, high, 3)


async def test_what_one_was_merged_into_is_searched_with_all_that_was_the_others(
    house: House,
) -> None:
    first, second = await ward(house)
    await house.store.merge(Merge(house.by, house.request(), second, first))
    finds: list[tuple[Find, int]] = [(house.store.find_screens, 4), (house.store.find_plans, 5)]
    for find, number in finds:
        found = await find(house.by.org, look(By.OBSERVED, down=True, patients=(first,)))
        assert len(found) == number


async def test_another_organisation_has_nothing_of_it(house: House) -> None:
    people = await ward(house)
    store, plan = (
        house.store,
        (await plans_of(house, look(By.CHANGED, down=True)))[0],
    )
    for by in By:
        for patients in (None, tuple(people)):
            asked = look(by, down=True, patients=patients)
            assert await store.find_screens("other", asked) == ()
            assert await store.find_plans("other", asked) == ()
    assert (await store.find_patients("other", 9, None)).items == ()
    assert await store.plan_and_screen("other", plan.plan.plan.id) is None
    assert await store.versions_of("other", plan.record.id) == ()
    assert await store.patients_with("other", "A") == ()
    assert await store.told_of("other", people[0], 9) == ()


async def test_a_value_is_found_whoever_issued_it(house: House) -> None:
    more = (Identifier(system="urn:oid:2.999.70", value="N-1"),)
    await house.store.keep(house.new("A", 0, more=more))
    await house.store.keep(house.new("N-1", 1))
    names = {one.id for one in await house.store.patients_with(house.by.org, "N-1")}
    found = [await house.store.find_patient(house.by.org, HOSPITAL, one) for one in ("A", "N-1")]
    assert names == {one.id for one in found if one is not None}
    assert await house.store.patients_with(house.by.org, "X") == ()


async def test_patients_are_listed_in_the_order_of_their_ids(house: House) -> None:
    people = sorted(await ward(house))
    first = await house.store.find_patients(house.by.org, 1, None)
    assert [one.id for one in first.items] == people[:1]
    rest = await house.store.find_patients(house.by.org, 1, first.next)
    assert ([one.id for one in rest.items], rest.next) == (people[1:], None)


async def test_what_was_told_of_a_patient_comes_newest_first(house: House) -> None:
    person, _ = await ward(house)
    told = await house.store.told_of(house.by.org, person, 9)
    assert [one.version for one in told] == [2, 1, 1]
    assert [one.at for one in told] == sorted((one.at for one in told), reverse=True)
    assert await house.store.told_of(house.by.org, person, 1) == told[:1]


async def test_the_clocks_of_the_house_are_known(house: House) -> None:
    assert await house.store.time_zone(house.by.org) == "Europe/Dublin"
    assert await house.store.time_zone("other") == "UTC"


@pytest.mark.parametrize("cursor", ["x", "W10", "WzEsImEiXQ", "WzEsImEiLC0xXQ", "é"])
async def test_a_place_that_was_never_handed_out_is_refused(house: House, cursor: str) -> None:
    with pytest.raises(Refused):
        await house.store.find_screens(house.by.org, look(By.CHANGED, down=True, after=cursor))
