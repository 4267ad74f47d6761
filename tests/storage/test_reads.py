"""Is a list read page by page, complete, and never across organisations?"""

from datetime import timedelta

from service.application.ports import KeptScreen
from service.domain.record import ScreenStatus
from tests.storage.made import HOSPITAL, House, open_house


async def kept_for(house: House, minutes: list[int]) -> list[KeptScreen]:
    return [await house.store.keep(house.new("H-1", at)) for at in minutes]


async def test_screens_come_newest_observed_first_page_by_page(house: House) -> None:
    kept = await kept_for(house, [3, 1, 4, 1, 5])
    patient = kept[0].record.patient_id
    expected = sorted(kept, key=lambda one: (one.record.content.observed_at, one.record.id))
    seen, after = [], None
    for size in (2, 2, 1):
        page = await house.store.screens_of(house.by.org, patient, 2, after)
        assert len(page.items) == size
        seen += [one.id for one in page.items]
        after = page.next
    assert after is None
    assert seen == [one.record.id for one in reversed(expected)]


async def test_a_page_stays_in_place_when_screens_arrive_in_between(house: House) -> None:
    kept = await kept_for(house, [10, 20, 30])
    patient = kept[0].record.patient_id
    first = await house.store.plans_of(house.by.org, patient, 2, None)
    await kept_for(house, [40, 5])
    second = await house.store.plans_of(house.by.org, patient, 9, first.next)
    assert [one.plan.id for one in first.items] == [kept[2].plan.plan.id, kept[1].plan.plan.id]
    assert second.items[0].plan.id == kept[0].plan.plan.id
    assert (len(second.items), second.next) == (2, None)
    assert [event.kind for event in first.items[0].events] == ["created"]
    assert [event.kind for event in second.items[0].events] == ["created", "superseded"]


async def test_a_list_shows_the_latest_version_of_each_screen_once(house: House) -> None:
    new, other = house.new("H-1", 1), house.new("H-1", 2)
    patient = (await house.store.keep(new)).record.patient_id
    await house.store.keep(other)
    await house.store.correct(house.correction(new, 1, 7))
    await house.store.withdraw(house.withdrawal(other.screen_id))
    page = await house.store.screens_of(house.by.org, patient, 10, None)
    assert [(one.id, one.version, one.status) for one in page.items] == [
        (new.screen_id, 2, ScreenStatus.AMENDED),
        (other.screen_id, 2, ScreenStatus.WITHDRAWN),
    ]


async def test_the_feed_begins_at_a_moment_and_shows_a_changed_screen_again(house: House) -> None:
    new = house.new("H-1", 1)
    await house.store.keep(new)
    house.clock.go_on(hours=1)
    since = house.clock.now
    others = [await house.store.keep(house.new(f"H-{n}")) for n in range(3)]
    first = await house.store.screens_since(house.by.org, since, 2, None)
    assert [one.id for one in first.items] == [one.record.id for one in others[:2]]
    await house.store.correct(house.correction(new, 1, 2))
    second = await house.store.screens_since(house.by.org, since, 9, first.next)
    assert [(one.id, one.version) for one in second.items] == [
        (others[2].record.id, 1),
        (new.screen_id, 2),
    ]
    later = await house.store.screens_since(house.by.org, since + timedelta(hours=1), 9, None)
    assert later.items == ()


async def test_nothing_is_read_across_organisations(house: House) -> None:
    new = house.new("H-1", more=())
    kept = await house.store.keep(new)
    await house.store.close()
    other = await open_house(house.path, house.clock)
    house.store, org = other.store, other.by.org
    assert org != house.by.org
    patient, plan = kept.record.patient_id, kept.plan.plan.id
    assert await other.store.screen(org, new.screen_id) is None
    assert await other.store.screen(org, new.screen_id, 1) is None
    assert await other.store.plan(org, plan) is None
    assert await other.store.patient(org, patient) is None
    assert await other.store.find_patient(org, HOSPITAL, "H-1") is None
    assert (await other.store.screens_of(org, patient, 9, None)).items == ()
    assert (await other.store.plans_of(org, patient, 9, None)).items == ()
    since = house.clock.now - timedelta(days=1)
    assert (await other.store.screens_since(org, since, 9, None)).items == ()
    assert len((await other.store.screens_since(house.by.org, since, 9, None)).items) == 1


async def test_an_absent_version_is_none(house: House) -> None:
    kept = await house.store.keep(house.new())
    assert await house.store.screen(house.by.org, kept.record.id, 2) is None


async def test_the_current_plan_is_read_with_its_pointer(house: House) -> None:
    first, second = await kept_for(house, [1, 2])
    patient = second.record.patient_id
    current = await house.store.current_plan(house.by.org, patient)
    assert current is not None and current.is_current
    assert current.plan.id == second.plan.plan.id
    await house.store.withdraw(house.withdrawal(second.record.id, 1))
    current = await house.store.current_plan(house.by.org, patient)
    assert current is not None and current.plan.id == first.plan.plan.id
    await house.store.withdraw(house.withdrawal(first.record.id, 1))
    assert await house.store.current_plan(house.by.org, patient) is None
    assert await house.store.current_plan("another", patient) is None
