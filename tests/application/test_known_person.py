"""Is a person known by an id of ours as the last good screen has them?"""

from msgspec.structs import replace

from service.application.known_person import is_theirs, known_person
from service.application.patients import merge_patients
from service.application.withdraw_screen import withdraw_screen
from service.domain.value import Identifier
from tests.application.made import NOWHERE, House, later, of
from tests.rules.screens import PATIENT


async def test_the_newest_screen_says_who_it_is(house: House) -> None:
    first = await house.recorded(later(1))
    await house.recorded(later(5, patient=replace(PATIENT, falls_last_12_months=3)))
    found = await known_person(house.service, house.call, first.screen.patient_id)
    assert found is not None
    assert found.patient == first.screen.patient_id
    assert found.subject.falls_last_12_months == 3
    assert house.told_last() == ("patient.read", "ok", found.patient, None)


async def test_a_withdrawn_screen_counts_only_where_there_is_no_other(house: House) -> None:
    first = await house.recorded(later(1))
    wrong = await house.recorded(later(5, patient=replace(PATIENT, falls_last_12_months=3)))
    await withdraw_screen(house.service, house.call, wrong.screen.id, None, "Wrong bed.")
    found = await known_person(house.service, house.call, first.screen.patient_id)
    assert found is not None
    assert found.subject == first.screen.content.patient
    await withdraw_screen(house.service, house.call, first.screen.id, None, "Wrong bed.")
    alone = await known_person(house.service, house.call, first.screen.patient_id)
    assert alone is not None
    assert alone.subject.falls_last_12_months == 3


async def test_a_merged_patient_is_the_one_that_stays(house: House) -> None:
    gone, stays = await house.recorded(of("H-1")), await house.recorded(of("H-2", 5))
    await merge_patients(house.service, house.call, gone.screen.patient_id, stays.screen.patient_id)
    found = await known_person(house.service, house.call, gone.screen.patient_id)
    assert found is not None
    assert found.patient == stays.screen.patient_id
    both = (of("H-1").patient.identifier, of("H-2").patient.identifier)
    assert all([await is_theirs(house.service, house.call, found.patient, one) for one in both])


async def test_nobody_is_known_by_an_id_of_nowhere_or_of_another_organisation(
    house: House,
) -> None:
    kept = await house.recorded()
    assert await known_person(house.service, house.call, NOWHERE) is None
    assert house.told_last() == ("patient.read", "not_found", None, None)
    assert await known_person(house.service, house.stranger, kept.screen.patient_id) is None
    strange = Identifier(system="urn:oid:2.999.7", value="Z-9")
    assert not await is_theirs(house.service, house.call, kept.screen.patient_id, strange)
