"""Is each resource found under its id, with whose it is and as many versions as are asked for?"""

from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from service.web.fhir.instances import FIND
from tests.web.fhir.desk import Desk, desk_on
from tests.web.fhir.served import EARLY, corrected, two_people, withdrawn

NOWHERE = "01957a3c-5d2e-7c41-9a6b-ffffffffffff"


@pytest.fixture
async def desk(tmp_path: Path) -> AsyncIterator[Desk]:
    async with desk_on(tmp_path) as one:
        yield one


async def test_versions_are_newest_first_and_no_more_than_asked_for(desk: Desk) -> None:
    first, _, _ = await two_people(desk.running)
    await corrected(desk.running, first, observed_at=EARLY, context={"trained_helpers": 1})
    await withdrawn(desk.running, first)
    screen_id, patient = first["screen"]["id"], first["screen"]["patient_id"]
    # both plans of the screen were superseded, and the second one then withdrawn
    for kind, name, number in (
        ("QuestionnaireResponse", screen_id, 3),
        ("Provenance", f"{screen_id}-provenance", 5),
        ("Observation", f"{screen_id}-ready-rass", 2),
        ("Patient", patient, 4),
    ):
        whole = await FIND[kind](desk.house, desk.call, name, 100)
        assert whole is not None
        assert (len(whole.versions), whole.patient) == (number, patient), kind
        assert {one.id for one in whole.versions} == {name}
        newest = await FIND[kind](desk.house, desk.call, name, 1)
        assert newest is not None
        assert newest.versions == whole.versions[:1]
        times = [one.meta.last_updated for one in whole.versions]
        assert times == sorted(times, reverse=True)
        versions = [one.meta.version_id for one in whole.versions]
        assert len(set(versions)) == len(versions)


async def test_a_plan_says_whether_it_holds_now(desk: Desk) -> None:
    first, second, _ = await two_people(desk.running)
    for answer, holds in ((first, False), (second, True)):
        found = await FIND["CarePlan"](desk.house, desk.call, answer["plan"]["id"], 1)
        assert found is not None
        assert found.is_current is holds


async def test_what_is_told_of_a_patient_as_a_whole_has_the_patients_id(desk: Desk) -> None:
    first, _, _ = await two_people(desk.running)
    patient = first["screen"]["patient_id"]
    for kind, name in (
        ("Goal", "goal-stage"),
        ("Flag", "flag-do-not-move"),
        ("Task", "task-rescreen"),
    ):
        found = await FIND[kind](desk.house, desk.call, f"{patient}-{name}", 100)
        assert found is not None
        assert found.patient == patient
        assert await FIND[kind](desk.house, desk.call, f"{NOWHERE}-{name}", 1) is None


async def test_an_id_of_another_kind_or_of_nothing_finds_nothing(desk: Desk) -> None:
    first, _, _ = await two_people(desk.running)
    screen_id = first["screen"]["id"]
    for kind in FIND:
        for name in (NOWHERE, f"{NOWHERE}-panel", "x", f"{screen_id}-nothing"):
            assert await FIND[kind](desk.house, desk.call, name, 1) is None, (kind, name)
