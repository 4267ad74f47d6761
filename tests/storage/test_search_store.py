"""Do the reads of a search go past a writer, and find what was committed?"""

from service.application.search_ports import By, FoundPlan, Look, Screened, Searches
from tests.storage.made import House


async def test_the_store_is_what_a_search_asks(house: House) -> None:
    store: Searches = house.store
    kept = await house.store.keep(house.new("A", 0))
    (version,) = await store.versions_of(house.by.org, kept.record.id)
    assert version == kept
    found = await store.plan_and_screen(house.by.org, kept.plan.plan.id)
    assert found is not None
    assert (found.plan, found.record) == (kept.plan, kept.record)
    look = Look(by=By.OBSERVED, newest_first=True, limit=9)
    (screen,) = await store.find_screens(house.by.org, look)
    assert screen.versions == (Screened(kept.record, kept.profile, kept.tests),)
    assert await store.record_of(house.by.org, kept.record.id, 1) == kept.record
    (plan,) = await store.find_plans(house.by.org, look)
    assert isinstance(plan, FoundPlan)
    assert plan.plan == kept.plan
    assert [one.id for one in (await store.find_patients(house.by.org, 9, None)).items] == [
        kept.record.patient_id
    ]
    assert [one.id for one in await store.patients_with(house.by.org, "A")] == [
        kept.record.patient_id
    ]
    told = await store.told_of(house.by.org, kept.record.patient_id, 9)
    assert [one.screen for one in told] == [kept.record.id]
    assert await store.time_zone(house.by.org) == "Europe/Dublin"


async def test_what_is_not_there_is_nothing(house: House) -> None:
    assert await house.store.versions_of(house.by.org, "nothing") == ()
    assert await house.store.record_of(house.by.org, "nothing", 1) is None
    assert await house.store.plan_and_screen(house.by.org, "nothing") is None
