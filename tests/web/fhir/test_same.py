"""Is what a screen is answered with the same, resource by resource, as what is read afterwards?"""

from datetime import timedelta

import httpx

from tests.web.fhir.served import EARLY, LATE, get
from tests.web.world import FHIR, World, screen

BETWEEN, LATER = "2026-03-04T07:30:00+00:00", "2026-03-04T08:30:00+00:00"


async def holds(running: World, response: httpx.Response, but: str = "") -> str:
    """Each resource of a Bundle is what its address gives, and its version what that gives.
    ``but``: a type whose newest version came with another screen."""
    assert response.status_code in (200, 201), response.text
    entries = response.json()["entry"]
    assert len(entries) > 20
    for entry in entries:
        address, told = entry["fullUrl"], entry["resource"]
        assert told["resourceType"] == but or await get(running, address) == told
        assert await get(running, f"{address}/_history/{told['meta']['versionId']}") == told
    running.clock.pass_time(timedelta(minutes=1))
    location: str = response.headers.get("location", "")
    return location.rpartition("/")[2]


async def test_every_answer_is_what_is_read_after_it(running: World) -> None:
    client = running.client
    await holds(running, await client.post("/v1/screens", json=screen("H-1", EARLY), headers=FHIR))
    answered = await client.post("/v1/screens", json=screen("H-1", LATE), headers=FHIR)
    address = f"/v1/screens/{await holds(running, answered)}"
    body = {**screen("H-1", LATE), "readiness": {"rass": -1}, "correction_reason": "Mistyped."}
    headers = {**FHIR, "If-Match": '"1"'}
    await holds(running, await client.put(address, json=body, headers=headers))
    older = await client.post("/v1/screens", json=screen("H-1", BETWEEN), headers=FHIR)
    await holds(running, older)
    reason = {"reason": "The wrong person."}
    await holds(running, await client.post(f"{address}/withdraw", json=reason, headers=FHIR))
    await holds(running, await client.get(address, headers=FHIR))
    running.clock.pass_time(timedelta(days=30))
    again = await client.get(older.headers["location"], headers=FHIR)
    await holds(running, again, but="Patient")


async def test_a_withdrawn_answer_tells_of_the_person_as_the_record_does(running: World) -> None:
    """The screen that was wrong called the person something else."""
    first, wrong = screen("H-1", EARLY), screen("H-1", LATE)
    wrong["patient"] = {**wrong["patient"], "sex": "male", "name": {"family": "Mistaken"}}
    await holds(running, await running.client.post("/v1/screens", json=first, headers=FHIR))
    answered = await running.client.post("/v1/screens", json=wrong, headers=FHIR)
    address = f"/v1/screens/{await holds(running, answered)}"
    reason = {"reason": "The wrong person."}
    taken = await running.client.post(f"{address}/withdraw", json=reason, headers=FHIR)
    await holds(running, taken)
    assert "Mistaken" not in taken.json()["entry"][0]["resource"]["text"]["div"]


async def test_one_who_was_joined_is_told_alike_and_by_all_they_were_known_by(
    running: World,
) -> None:
    gone, stays = await running.post(screen("H-1")), await running.post(screen("H-2"))
    patient, into = gone["screen"]["patient_id"], stays["screen"]["patient_id"]
    running.clock.pass_time(timedelta(minutes=1))
    await running.client.post(f"/v1/patients/{patient}/merge", json={"into": into})
    running.clock.pass_time(timedelta(minutes=1))
    for answer in (stays, gone):
        shown = await running.client.get(f"/v1/screens/{answer['screen']['id']}", headers=FHIR)
        await holds(running, shown)
    again = await running.client.post("/v1/screens", json=screen("H-1", LATER), headers=FHIR)
    await holds(running, again)
    person = await get(running, f"/Patient/{into}")
    for known in ("H-1", "H-2"):
        bundle = await get(running, f"/Patient?identifier={known}")
        assert [entry["resource"] for entry in bundle["entry"]] == [person]
        assert known in [one["value"] for one in person["identifier"]]
    native = await running.client.get(f"/v1/patients/{into}", headers=FHIR)
    assert native.json() == person
