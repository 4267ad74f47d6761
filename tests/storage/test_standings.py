"""Do the rows of the record say where each patient stood, joined records included?"""

from msgspec.structs import replace

from service.application.ports import KeptScreen, Merge, Standing, StandingsAsked, Stood
from service.domain.record import PlanEventKind
from tests.storage.made import HOSPITAL, House, sql_of

LOOK_BACK = 9


async def told(house: House, patient: str) -> tuple[Standing, ...]:
    return await house.store.standings(house.by.org, patient, StandingsAsked(50, LOOK_BACK))


async def joined(house: House, gone: KeptScreen, stays: KeptScreen) -> None:
    merge = Merge(house.by, "request", gone.record.patient_id, stays.record.patient_id)
    await house.store.merge(merge)


def plans(found: tuple[Standing, ...]) -> list[tuple[str, bool]]:
    return [(one.plan.plan.id, one.plan.is_current) for one in found]


async def test_standings_follow_the_events_and_carry_what_was_known_then(house: House) -> None:
    first = await house.store.keep(house.new(at=1))
    house.clock.go_on(minutes=1)
    second = await house.store.keep(house.new(at=2))
    found = await told(house, first.record.patient_id)
    a, b = first.plan.plan.id, second.plan.plan.id
    assert plans(found) == [(b, True), (a, True), (a, True)]
    assert [one.rev for one in found] == [3, 2, 1]
    assert [len(one.plan.events) for one in found] == [1, 1, 1]
    assert [one.followed_by for one in found] == [None, second.record.id, None]
    assert found[0].screen == second.record
    assert found[0].stood.profile == second.profile
    assert found[0].plan.plan.replaces == a
    assert [[stood.plan.plan.id for stood in one.earlier] for one in found] == [[a], [], []]
    assert [event.kind for event in found[0].earlier[0].plan.events] == ["created", "superseded"]


async def test_a_standing_is_read_by_its_number_and_the_list_is_bounded(house: House) -> None:
    patient = ""
    for at in range(5):
        patient = (await house.store.keep(house.new(at=at))).record.patient_id
    found = await told(house, patient)
    assert [one.rev for one in found] == list(range(9, 0, -1))
    few = await house.store.standings(house.by.org, patient, StandingsAsked(2, 1))
    assert [one.rev for one in few] == [9, 8]
    assert [len(one.earlier) for one in few] == [1, 1]


async def test_a_withdrawal_and_the_plan_that_stands_again_are_events_of_the_patient(
    house: House,
) -> None:
    first = await house.store.keep(house.new(at=1))
    second = await house.store.keep(house.new(at=2))
    await house.store.withdraw(house.withdrawal(second.record.id))
    found = await told(house, first.record.patient_id)
    a, b = first.plan.plan.id, second.plan.plan.id
    assert plans(found)[:2] == [(a, True), (b, False)]
    assert [event.kind for event in found[0].plan.events] == ["created", "superseded", "restored"]
    assert found[1].plan.events[-1].kind == PlanEventKind.WITHDRAWN


async def test_a_corrected_screen_is_told_in_its_new_version(house: House) -> None:
    new = house.new(at=5)
    await house.store.keep(new)
    kept = await house.store.correct(house.correction(new, 1, 6))
    found = await told(house, kept.record.patient_id)
    assert found[0].screen == kept.record
    assert found[0].plan.plan.screen_version == 2


async def test_the_later_plan_of_a_joined_record_stands_for_the_one_who_stays(
    house: House,
) -> None:
    stays = await house.store.keep(house.new("H-1", 5))
    gone = await house.store.keep(house.new("H-2", 10))
    await joined(house, gone, stays)
    ours, theirs = stays.plan.plan.id, gone.plan.plan.id
    found = await told(house, stays.record.patient_id)
    assert plans(found) == [(theirs, True), (ours, False), (ours, True)]
    left = await told(house, gone.record.patient_id)
    assert plans(left) == [(theirs, False), (theirs, True)]
    assert left[0].patient.merged_into == stays.record.patient_id
    assert left[0].rev == 2


async def test_a_plan_that_stays_is_not_touched_by_a_joined_record(house: House) -> None:
    stays = await house.store.keep(house.new("H-1", 10))
    gone = await house.store.keep(house.new("H-2", 5))
    await joined(house, gone, stays)
    assert plans(await told(house, stays.record.patient_id)) == [(stays.plan.plan.id, True)]
    theirs = gone.plan.plan.id
    left = await told(house, gone.record.patient_id)
    assert plans(left) == [(theirs, False), (theirs, False), (theirs, True)]


async def test_what_happens_later_to_a_joined_plan_counts_for_the_one_who_stays(
    house: House,
) -> None:
    stays = await house.store.keep(house.new("H-1", 5))
    gone = await house.store.keep(house.new("H-2", 10))
    await joined(house, gone, stays)
    await house.store.withdraw(house.withdrawal(gone.record.id))
    found = await told(house, stays.record.patient_id)
    assert plans(found)[0] == (stays.plan.plan.id, True)
    assert [one.rev for one in found] == list(range(len(found), 0, -1))


async def test_records_joined_before_that_was_an_event_follow_the_pointer(house: House) -> None:
    stays = await house.store.keep(house.new("H-1", 5))
    gone = await house.store.keep(house.new("H-2", 10))
    await joined(house, gone, stays)
    sql_of(house.path, "DELETE FROM plan_event WHERE kind = 'restored'")
    found = await told(house, stays.record.patient_id)
    assert plans(found)[0] == (gone.plan.plan.id, True)


async def test_nobody_stands_where_nobody_is_known(house: House) -> None:
    kept = await house.store.keep(house.new())
    assert await told(house, "nobody") == ()
    assert (
        await house.store.standings("another", kept.record.patient_id, StandingsAsked(1, 1)) == ()
    )


async def test_a_family_is_who_was_taken_over_and_by_whom(house: House) -> None:
    stays = await house.store.keep(house.new("H-1", 5))
    kept = [await house.store.keep(house.new(f"H-{n}", n)) for n in (2, 3)]
    for gone in kept:
        await joined(house, gone, stays)
        house.clock.go_on(minutes=1)
    org, root = house.by.org, stays.record.patient_id
    family = await house.store.family(org, root)
    assert family is not None
    assert [one.patient for one in family.replaces] == [one.record.patient_id for one in kept]
    assert family.replaces[0].at < family.replaces[1].at
    assert (family.replaced_by, family.replaced_at) == (None, None)
    gone_family = await house.store.family(org, kept[0].record.patient_id)
    assert gone_family is not None
    assert (gone_family.replaces, gone_family.replaced_by) == ((), root)
    assert gone_family.replaced_at == family.replaces[0].at
    assert (await told(house, root))[0].family == family


async def test_who_was_taken_over_stays_with_whom_it_was_though_that_one_goes_too(
    house: House,
) -> None:
    first, second, third = [
        (await house.store.keep(house.new(value))).record.patient_id for value in ("A", "B", "C")
    ]
    org, families = house.by.org, {}
    for gone, into in ((first, second), (second, third)):
        house.clock.go_on(seconds=1)
        await house.store.merge(Merge(house.by, house.request(), gone, into))
        families[gone] = await house.store.family(org, gone)
    assert await house.store.family(org, first) == families[first]
    before, between, last = [await house.store.family(org, one) for one in (first, second, third)]
    assert before is not None and between is not None and last is not None
    assert (before.replaces, before.replaced_by) == ((), second)
    assert [one.patient for one in between.replaces] == [first]
    assert between.replaced_by == third
    assert [one.patient for one in last.replaces] == [second]
    assert (before.replaced_at, between.replaced_at) == (
        between.replaces[0].at,
        last.replaces[0].at,
    )
    found = await house.store.find_patient(org, HOSPITAL, "A")
    assert found is not None and found.id == third


async def test_nobody_has_a_family_in_another_organisation(house: House) -> None:
    kept = await house.store.keep(house.new())
    assert await house.store.family("another", kept.record.patient_id) is None


async def test_an_earlier_plan_is_told_with_what_happened_to_it_since(house: House) -> None:
    first = await house.store.keep(house.new(at=1))
    second = await house.store.keep(house.new(at=2))
    await house.store.withdraw(house.withdrawal(first.record.id))
    found = await told(house, first.record.patient_id)
    assert plans(found)[0] == (second.plan.plan.id, True)
    kinds = [[event.kind for event in one.earlier[0].plan.events] for one in found[:2]]
    assert kinds == [["created", "superseded", "withdrawn"], ["created", "superseded"]]


async def test_what_the_caller_holds_is_not_read_again_but_its_events_are(house: House) -> None:
    kept = await house.store.keep(house.new())
    marked = replace(kept.record, recorded_by="held")
    held = Stood(kept.plan, marked, kept.profile, kept.tests)
    await house.store.withdraw(house.withdrawal(kept.record.id))
    asked = StandingsAsked(1, 0, held)
    (found,) = await house.store.standings(house.by.org, kept.record.patient_id, asked)
    assert found.screen == marked
    assert [event.kind for event in found.plan.events] == ["created", "withdrawn"]
