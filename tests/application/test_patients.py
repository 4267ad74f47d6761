"""Are patients found by what they are known by, read, listed and merged?"""

import pytest

from service.application.patients import (
    find_patient,
    merge_patients,
    plans_of,
    read_patient,
    screens_of,
)
from service.domain.plan import PlanState
from service.domain.problem import Conflict, NotFound, Refused
from service.domain.record import Answer, PatientRecord
from tests.application.made import NOWHERE, House, later, of, walked
from tests.rules.screens import PATIENT

SYSTEM = PATIENT.identifier.system


async def _two(house: House) -> tuple[Answer, Answer]:
    """Two records of what turns out to be one person, the second one observed later."""
    return await house.recorded(of("p-1")), await house.recorded(of("p-2", minutes=5))


async def test_a_patient_is_read_by_the_opaque_id_and_that_is_noted(house: House) -> None:
    answered = await house.recorded()
    patient = answered.screen.patient_id
    read = await read_patient(house.service, house.call, patient)
    assert read == PatientRecord(patient, answered.plan.id)
    assert house.told_last() == ("patient.read", "ok", patient, None)


async def test_a_patient_that_is_not_there_is_not_found_and_noted(house: House) -> None:
    with pytest.raises(NotFound):
        await read_patient(house.service, house.call, NOWHERE)
    assert house.told_last() == ("patient.read", "not_found", None, None)


async def test_another_organisation_does_not_find_the_patient(house: House) -> None:
    patient = (await house.recorded()).screen.patient_id
    with pytest.raises(NotFound):
        await read_patient(house.service, house.stranger, patient)
    with pytest.raises(NotFound):
        await find_patient(house.service, house.stranger, SYSTEM, "p-1")


async def test_a_patient_is_found_by_identifier_and_only_the_opaque_id_is_noted(
    house: House,
) -> None:
    patient = (await house.recorded(of("p-1"))).screen.patient_id
    found = await find_patient(house.service, house.call, SYSTEM, "p-1")
    assert found.id == patient
    assert house.told_last() == ("patient.find", "ok", patient, None)
    assert "p-1" not in repr(house.records.entries)


@pytest.mark.parametrize(("system", "value"), [(SYSTEM, "p-9"), ("urn:example:others", "p-1")])
async def test_an_identifier_nobody_has_is_not_found_and_not_noted_itself(
    house: House, system: str, value: str
) -> None:
    await house.recorded(of("p-1"))
    with pytest.raises(NotFound):
        await find_patient(house.service, house.call, system, value)
    assert house.told_last() == ("patient.find", "not_found", None, None)
    assert value not in repr(house.records.entries)


async def test_the_patient_that_stays_takes_over(house: House) -> None:
    gone, stays = (answer.screen.patient_id for answer in await _two(house))
    merged = await merge_patients(house.service, house.call, gone, stays)
    assert (merged.id, merged.merged_into) == (stays, None)
    assert house.told_last() == ("patient.merge", "ok", gone, stays)
    assert await find_patient(house.service, house.call, SYSTEM, "p-1") == merged


async def test_a_merged_patient_names_the_one_that_took_over(house: House) -> None:
    gone, stays = (answer.screen.patient_id for answer in await _two(house))
    await merge_patients(house.service, house.call, gone, stays)
    read = await read_patient(house.service, house.call, gone)
    assert read == PatientRecord(gone, None, merged_into=stays)


async def test_the_later_plan_is_the_current_one_whoever_stays(house: House) -> None:
    early, late = await _two(house)
    stays = early.screen.patient_id
    merged = await merge_patients(house.service, house.call, late.screen.patient_id, stays)
    assert merged.current_plan == late.plan.id
    page = await plans_of(house.service, house.call, merged, 10, None)
    assert [(plan.id, plan.state) for plan in page.items] == [
        (late.plan.id, PlanState.CURRENT),
        (early.plan.id, PlanState.SUPERSEDED),
    ]


async def test_scores_from_before_the_merge_are_earlier_scores_after_it(house: House) -> None:
    stays = (await house.recorded(walked("18"))).screen.patient_id
    gone = (await house.recorded(of("p-2"))).screen.patient_id
    await merge_patients(house.service, house.call, gone, stays)
    after = await house.recorded(walked("14", minutes=5, patient=of("p-2").patient))
    assert after.tests[0].change is not None
    assert after.tests[0].change.earlier_score == 18


async def test_a_patient_cannot_be_merged_into_itself(house: House) -> None:
    answered = await house.recorded()
    patient = answered.screen.patient_id
    with pytest.raises(Refused) as refused:
        await merge_patients(house.service, house.call, patient, patient)
    assert [(fault.path, fault.rule) for fault in refused.value.faults] == [("/into", "merge.self")]
    read = await read_patient(house.service, house.call, patient)
    assert read == PatientRecord(patient, answered.plan.id)


async def test_two_patients_are_not_merged_both_ways(house: House) -> None:
    gone, stays = (answer.screen.patient_id for answer in await _two(house))
    await merge_patients(house.service, house.call, gone, stays)
    with pytest.raises(Conflict):
        await merge_patients(house.service, house.call, stays, gone)


async def test_nobody_is_merged_with_a_patient_that_is_not_there(house: House) -> None:
    known = (await house.recorded()).screen.patient_id
    for pair in ((NOWHERE, known), (known, NOWHERE)):
        with pytest.raises(NotFound):
            await merge_patients(house.service, house.call, *pair)
        assert house.told_last() == ("patient.merge", "not_found", None, None)


async def test_the_screens_come_newest_observed_first_page_by_page(house: House) -> None:
    middle, oldest, newest = [(await house.recorded(later(at))).screen for at in (0, -5, 5)]
    await house.recorded(of("p-2"))
    patient = await read_patient(house.service, house.call, middle.patient_id, "screen.list")
    page = await screens_of(house.service, house.call, patient, 2, None)
    assert page.items == (newest, middle)
    assert house.told_last() == ("screen.list", "ok", patient.id, None)
    rest = await screens_of(house.service, house.call, patient, 2, page.next)
    assert (rest.items, rest.next) == ((oldest,), None)


async def test_each_listed_plan_has_its_state_of_this_moment(house: House) -> None:
    old = (await house.recorded()).plan
    new = (await house.recorded(later(5))).plan
    house.clock.now = new.valid_until
    patient = await read_patient(house.service, house.call, new.patient_id, "plan.list")
    page = await plans_of(house.service, house.call, patient, 1, None)
    assert [(plan.id, plan.state) for plan in page.items] == [(new.id, PlanState.LAPSED)]
    assert house.told_last() == ("plan.list", "ok", new.patient_id, None)
    rest = await plans_of(house.service, house.call, patient, 1, page.next)
    assert [(plan.id, plan.state) for plan in rest.items] == [(old.id, PlanState.SUPERSEDED)]
    assert rest.next is None


async def test_nothing_is_listed_of_a_patient_that_is_not_there(house: House) -> None:
    for action in ("screen.list", "plan.list"):
        with pytest.raises(NotFound):
            await read_patient(house.service, house.call, NOWHERE, action)
        assert house.told_last() == (action, "not_found", None, None)
