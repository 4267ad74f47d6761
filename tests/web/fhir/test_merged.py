"""Is a patient found, linked and told of rightly where one record after another was joined?"""

from datetime import timedelta
from urllib.parse import quote

import pytest

from service.web.fhir.content import PREFIX
from tests.web.fhir.served import Told, found, get, ids, two_people, withdrawn
from tests.web.world import World, screen

KINDS = ("CarePlan", "Observation", "QuestionnaireResponse", "Goal", "Flag", "Task", "Provenance")
SYSTEM = "urn:oid:2.999.7"


def known(value: str, *more: str, hour: int = 8) -> Told:
    """A screen of a person with a number of the hospital's and perhaps others."""
    body = screen(value, f"2026-03-04T{hour:02}:15:00+00:00")
    body["patient"]["more_identifiers"] = [{"system": "urn:oid:2.999.70", "value": one}
                                           for one in more]  # fmt: skip
    return body


async def merge(running: World, gone: str, into: str) -> None:
    answer = await running.client.post(f"/v1/patients/{gone}/merge", json={"into": into})
    assert answer.status_code == 200, answer.text
    running.clock.pass_time(timedelta(minutes=1))


async def three(running: World) -> list[str]:
    """The ids of three people who were screened one after the other."""
    patients = []
    for hour, name in enumerate("ABC", 6):
        answer = await running.post(known(f"H-{name}", f"N-{name}", hour=hour))
        patients.append(answer["screen"]["patient_id"])
        running.clock.pass_time(timedelta(minutes=1))
    return patients


async def versions(running: World, patient: str) -> list[Told]:
    bundle = await get(running, f"/Patient/{patient}/_history")
    return [entry["resource"] for entry in bundle["entry"]]


def links(person: Told) -> list[tuple[str, str]]:
    return [
        (one["type"], one["other"]["reference"].removeprefix("Patient/"))
        for one in person.get("link", [])
    ]


def identifiers(person: Told) -> dict[str, str | None]:
    return {one["value"]: one.get("use") for one in person["identifier"]}


async def test_no_version_of_a_patient_changes_whoever_is_joined_later(running: World) -> None:
    first, second, third = await three(running)
    seen: dict[tuple[str, str], Told] = {}
    for gone, into in ((first, second), (second, third)):
        await merge(running, gone, into)
        for patient in (first, second, third):
            for person in await versions(running, patient):
                key = (patient, person["meta"]["versionId"])
                assert seen.setdefault(key, person) == person
                assert await get(running, f"/Patient/{patient}/_history/{key[1]}") == person
    await running.post(known("H-A", hour=11))
    for (patient, version), person in seen.items():
        assert await get(running, f"/Patient/{patient}/_history/{version}") == person


async def everything(running: World, patients: list[str]) -> dict[tuple[str, str, str], Told]:
    """Every version of all that is told of any of them."""
    names = {
        (kind, one["id"])
        for patient in patients
        for kind in KINDS
        for one in await found(running, f"/{kind}?patient={patient}&_count=50")
    }
    names |= {("Goal", f"{one}-goal-stage") for one in patients}
    names |= {("Task", f"{one}-task-rescreen") for one in patients}
    return {
        (kind, name, entry["resource"]["meta"]["versionId"]): entry["resource"]
        for kind, name in names
        for entry in (await get(running, f"/{kind}/{name}/_history?_count=100"))["entry"]
    }


async def test_no_version_of_anything_changes_whatever_becomes_of_whose_it_is(
    running: World,
) -> None:
    patients = await three(running)
    first, second, third = patients
    seen = await everything(running, patients)

    async def look() -> None:
        for key, resource in (await everything(running, patients)).items():
            assert seen.setdefault(key, resource) == resource, key

    for gone, into in ((first, second), (second, third)):
        await merge(running, gone, into)
        await look()
    answer = await running.post(known("H-B", hour=11))
    running.clock.pass_time(timedelta(minutes=1))
    await withdrawn(running, answer)
    running.clock.pass_time(timedelta(days=30))
    await look()
    assert len({key[0] for key in seen}) == len(KINDS)


async def test_each_leads_to_the_one_that_took_it_over(running: World) -> None:
    first, second, third = await three(running)
    await merge(running, first, second)
    held = (await running.client.get(f"{PREFIX}/Patient/{second}")).headers["etag"]
    await merge(running, second, third)
    told = [await versions(running, patient) for patient in (first, second, third)]
    assert [[links(one) for one in each] for each in told] == [
        [[("replaced-by", second)], []],
        [[("replaces", first), ("replaced-by", third)], [("replaces", first)], []],
        [[("replaces", second)], []],
    ]
    assert [[one.get("active") for one in each] for each in told] == [
        [False, None], [False, None, None], [None, None],
    ]  # fmt: skip
    again = await running.client.get(f"{PREFIX}/Patient/{second}", headers={"If-None-Match": held})
    assert (again.status_code, again.json()["active"]) == (200, False)


async def test_whichever_id_or_identifier_finds_all_that_is_of_any_of_them(
    running: World,
) -> None:
    patients = await three(running)
    first, second, third = patients
    await merge(running, first, second)
    await merge(running, second, third)
    (person,) = await found(running, f"/Patient?identifier={quote(f'{SYSTEM}|H-A', safe='')}")
    assert person["id"] == third
    for kind in KINDS:
        expected = ids(await found(running, f"/{kind}?patient={third}"))
        assert expected
        for patient in patients:
            assert ids(await found(running, f"/{kind}?patient={patient}")) == expected, kind
        for value in ("H-A", "N-A", "H-B", "N-B", "H-C", "N-C"):
            asked = f"/{kind}?patient.identifier={value}"
            assert ids(await found(running, asked)) == expected, (kind, value)
    assert len(await found(running, f"/CarePlan?patient={first}")) == 3
    for value in ("H-A", "N-A", "H-B", "N-B", "H-C", "N-C"):
        (person,) = await found(running, f"/Patient?identifier={value}")
        assert (person["id"], value in identifiers(person)) == (third, True)
    for patient, active in ((first, False), (second, False), (third, None)):
        (person,) = await found(running, f"/Patient?_id={patient}")
        assert (person["id"], person.get("active")) == (patient, active)


async def test_a_patient_shows_every_identifier_it_is_found_by_and_which_are_former(
    running: World,
) -> None:
    answers = []
    for hour, body in enumerate((("H-1", "N-1"), ("H-1", "N-2"), ("H-1",)), 6):
        answers.append(await running.post(known(*body, hour=hour)))
        running.clock.pass_time(timedelta(minutes=1))
    patient = answers[0]["screen"]["patient_id"]
    for value in ("H-1", "N-1", "N-2"):
        (person,) = await found(running, f"/Patient?identifier={value}")
        assert identifiers(person) == {"H-1": None, "N-1": "old", "N-2": None}
    assert [identifiers(one) for one in await versions(running, patient)] == [
        {"H-1": None, "N-1": "old", "N-2": None},
        {"H-1": None, "N-2": None, "N-1": "old"},
        {"H-1": None, "N-1": None},
    ]


@pytest.mark.parametrize("more", [(), ("N-2",)])
async def test_the_patient_of_an_answer_is_the_one_that_is_read(
    running: World, more: tuple[str, ...]
) -> None:
    await running.post(known("H-1", "N-1", hour=6))
    running.clock.pass_time(timedelta(minutes=1))
    headers = {"Accept": "application/fhir+json"}
    answer = await running.client.post("/v1/screens", json=known("H-1", *more), headers=headers)
    (person,) = [
        one["resource"]
        for one in answer.json()["entry"]
        if one["resource"]["resourceType"] == "Patient"
    ]
    assert "N-1" in identifiers(person)
    assert await get(running, f"/Patient/{person['id']}") == person


async def test_another_organisation_is_told_of_no_identifier(running: World) -> None:
    first, _, _ = await two_people(running)
    answer = await running.stranger.get(f"{PREFIX}/Patient/{first['screen']['patient_id']}")
    assert answer.status_code == 404
