"""Is every entry of the trail found that was asked for, once, and in the order of time?"""

from datetime import timedelta

import pytest

from service.application.ports import AuditEntry, Merge
from service.application.trail_ports import Noted, Stretch, TrailLook
from service.domain.problem import Refused
from service.domain.record import Principal
from service.storage import trail
from service.storage.commanded import audit_command
from service.storage.connection import short_read, short_write
from service.storage.organisations import create_organisation
from tests.storage.made import HOSPITAL, MORNING, House, sql_of


async def told(house: House, count: int) -> None:
    """``count`` readings, a minute apart, of three patients in turn."""
    for n in range(count):
        house.clock.go_on(minutes=1)
        entry = AuditEntry("plan.read", house.by, f"r-{n}", "ok", f"p-{n % 3}", f"plan-{n}")
        await house.store.audit(entry)


def look(**asked: object) -> TrailLook:
    plain = {"newest_first": True, "limit": 50, "wanted": lambda _: True}
    return TrailLook(**(plain | asked))  # type: ignore[arg-type]


async def pages(house: House, **asked: object) -> list[Stretch]:
    """Stretch after stretch, to the end."""
    found = [await house.store.trail_stretch(house.by.org, look(**asked))]
    while found[-1].next is not None:
        assert len(found) < 100
        after = {**asked, "after": found[-1].next}
        found.append(await house.store.trail_stretch(house.by.org, look(**after)))
    return found


def of(stretches: list[Stretch]) -> list[Noted]:
    return [one for stretch in stretches for one in stretch.found]


@pytest.mark.parametrize("newest_first", [True, False])
@pytest.mark.parametrize("limit", [1, 3, 50])
async def test_every_entry_comes_once_in_its_order(
    house: House, *, newest_first: bool, limit: int
) -> None:
    await told(house, 7)
    with short_write(house.path) as connection:
        audit_command(connection, house.clock, house.by.org, "key.create", "k-1")
    found = of(await pages(house, newest_first=newest_first, limit=limit))
    assert sorted(one.id for one in found) == [*(f"1-{n}" for n in range(1, 8)), "2-1", "2-2"]
    places = [(one.at, one.chain, one.seq) for one in found]
    assert places == sorted(places, reverse=newest_first)


async def test_an_entry_says_who_did_what_to_whose_data(house: House) -> None:
    await told(house, 1)
    found = await house.store.trail_entry(house.by.org, 1, 1)
    assert found is not None
    # the writer of a server never dates two batches alike
    assert timedelta(0) <= found.at - MORNING - timedelta(minutes=1) < timedelta(milliseconds=1)
    assert found == Noted(
        chain=1,
        seq=1,
        at=found.at,
        action="plan.read",
        credential=house.by.credential,
        name=house.by.name,
        outcome="ok",
        request_id="r-0",
        patient="p-0",
        target="plan-0",
    )
    assert await house.store.trail_entry(house.by.org, 1, 2) is None


async def test_what_is_wanted_is_picked_however_short_a_stretch_is(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(trail, "WINDOW", 2)
    await told(house, 9)
    stretches = await pages(house, limit=2, wanted=lambda one: one.patient == "p-1")
    assert [one.target for one in of(stretches)] == ["plan-7", "plan-4", "plan-1"]
    assert any(not stretch.found for stretch in stretches)


async def test_entries_that_come_in_between_move_nothing(house: House) -> None:
    await told(house, 5)
    first = await house.store.trail_stretch(house.by.org, look(limit=2))
    await told(house, 3)
    rest = of(await pages(house, limit=50, after=first.next))
    assert [one.seq for one in (*first.found, *rest) if one.chain == 1] == [5, 4, 3, 2, 1]


async def test_times_bound_what_is_found_and_both_are_included(house: House) -> None:
    await told(house, 5)
    low, high = MORNING + timedelta(minutes=2), MORNING + timedelta(minutes=4)
    found = of(await pages(house, low=low, high=high))
    assert [one.seq for one in found] == [4, 3, 2]


async def test_one_organisation_s_trail_is_no_other_s(house: House) -> None:
    await told(house, 3)
    org = create_organisation(house.path, house.clock, "Lakeside", "UTC").org
    theirs = Principal(org, "cred-2", "lakeside")
    for _ in range(5):
        await house.store.audit(AuditEntry("plan.read", theirs, "r", "ok", "theirs"))
    assert all(one.patient != "theirs" for one in of(await pages(house)))
    found = await house.store.trail_stretch(org, look())
    assert [one.action for one in found.found] == ["plan.read"] * 5 + ["organisation.create"]
    assert await house.store.trail_entry(house.by.org, 1, 5) is None


async def test_an_entry_that_is_none_of_the_service_s_is_told_and_hides_no_other(
    house: House,
) -> None:
    await told(house, 3)
    spoil = "UPDATE audit SET body = x'ff' WHERE org = ? AND chain = 1 AND seq = 2"
    sql_of(house.path, spoil, house.by.org)
    sql_of(house.path, "UPDATE audit SET at = ? WHERE chain = 1 AND seq = 3", 2**62)
    found = of(await pages(house))
    assert [(one.seq, one.action) for one in found if one.chain == 1] == [
        (2, trail.UNREADABLE),
        (1, "plan.read"),
    ]


async def test_a_cursor_that_was_never_handed_out_is_refused(house: House) -> None:
    with pytest.raises(Refused):
        await house.store.trail_stretch(house.by.org, look(after="x"))


async def test_a_patient_is_known_by_all_ids_that_were_joined(house: House) -> None:
    for value in ("H-1", "H-2"):
        await house.store.keep(house.new(value))
    ids = []
    for value in ("H-1", "H-2"):
        known = await house.store.find_patient(house.by.org, HOSPITAL, value)
        assert known is not None
        ids.append(known.id)
    await house.store.merge(Merge(house.by, "r", *ids))
    for one in ids:
        assert set(await house.store.same_patient(house.by.org, one)) == set(ids)
    assert await house.store.same_patient(house.by.org, "erased") == ("erased",)


async def test_all_entries_come_oldest_first_and_never_all_at_once(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(trail, "WINDOW", 2)
    await told(house, 7)
    low = MORNING + timedelta(minutes=2)
    with short_read(house.path) as connection:
        found = list(trail.all_entries(connection, house.by.org, low, None))
    assert [one.seq for one in found] == [2, 3, 4, 5, 6, 7]
