"""Is each resource read as it is and as it was, and every reading noted?"""

import sqlite3
from contextlib import closing
from datetime import timedelta

import msgspec

from service.web.fhir.content import PREFIX
from service.web.fhir.instances import FIND
from tests.web.fhir.served import FHIR_JSON, Told, corrected, faults, get, withdrawn
from tests.web.world import World, screen

NOWHERE = "01957a3c-5d2e-7c41-9a6b-ffffffffffff"


def addresses(answer: Told, device: str) -> dict[str, str]:
    """One resource of each type that one screen gives."""
    screen_id, patient = answer["screen"]["id"], answer["screen"]["patient_id"]
    return {
        "Patient": patient,
        "Observation": f"{screen_id}-panel",
        "QuestionnaireResponse": screen_id,
        "CarePlan": answer["plan"]["id"],
        "Goal": f"{patient}-goal-stage",
        "Flag": f"{patient}-flag-do-not-move",
        "Task": f"{patient}-task-rescreen",
        "Device": device,
        "Provenance": f"{screen_id}-provenance",
    }


async def device_of(running: World) -> str:
    bundle = await get(running, "/Device")
    device: str = bundle["entry"][0]["resource"]["id"]
    return device


def trail(running: World) -> list[Told]:
    with closing(sqlite3.connect(running.database)) as connection:
        rows = connection.execute("SELECT body FROM audit ORDER BY at, chain, seq").fetchall()
    return [msgspec.json.decode(row[0]) for row in rows]


async def test_every_type_is_read_with_its_version_and_held_until_it_changes(
    running: World,
) -> None:
    answer = await running.post(screen())
    named = addresses(answer, await device_of(running))
    assert named.keys() == FIND.keys()
    for kind, name in named.items():
        address = f"{PREFIX}/{kind}/{name}"
        first = await running.client.get(address)
        assert first.status_code == 200, (kind, first.text)
        told = first.json()
        assert (told["resourceType"], told["id"]) == (kind, name)
        tag = f'W/"{told["meta"]["versionId"]}"'
        assert first.headers["etag"] == tag
        assert ("last-modified" in first.headers) == ("lastUpdated" in told["meta"])
        head = await running.client.head(address)
        assert (head.status_code, head.content) == (200, b"")
        assert head.headers["etag"] == tag
        held = await running.client.get(address, headers={"If-None-Match": tag})
        assert (held.status_code, held.content) == (304, b"")
        version = told["meta"]["versionId"]
        was = await running.client.get(f"{address}/_history/{version}")
        assert was.json() == told
        assert was.headers["etag"] == tag


async def test_every_reading_is_noted_with_whose_it_is_held_or_not(running: World) -> None:
    answer = await running.post(screen())
    patient, plan = answer["screen"]["patient_id"], answer["plan"]["id"]
    for headers in ({}, {"If-None-Match": 'W/"1"'}):
        before = len(trail(running))
        await running.client.get(f"{PREFIX}/CarePlan/{plan}", headers=headers)
        (entry,) = trail(running)[before:]
        assert (entry["action"], entry["outcome"]) == ("careplan.read", "ok")
        assert (entry["patient"], entry["target"]) == (patient, plan)
    before = len(trail(running))
    await running.client.head(f"{PREFIX}/Patient/{patient}")
    assert [entry["action"] for entry in trail(running)[before:]] == ["patient.read"]


async def test_what_is_not_there_is_not_found_and_that_is_noted(running: World) -> None:
    for kind in FIND:
        for name in (NOWHERE, f"{NOWHERE}-panel", "a b", "x" * 65):
            before = len(trail(running))
            outcome = await get(running, f"/{kind}/{name}", 404)
            assert faults(outcome) == [("not-found", "")]
            assert name not in repr(outcome)
            told = trail(running)[before:]
            assert (f"{kind.lower()}.read", "not_found") in [
                (entry["action"], entry["outcome"]) for entry in told
            ]


async def test_a_version_that_never_was_is_not_found(running: World) -> None:
    answer = await running.post(screen())
    for version in ("2", "0", "x"):
        path = f"/Observation/{answer['screen']['id']}-panel/_history/{version}"
        assert faults(await get(running, path, 404)) == [("not-found", "")]


async def test_a_correction_is_a_new_version_of_what_it_changed(running: World) -> None:
    answer = await running.post(screen())
    stages = {"sitting_balance": {"outcome": "not_achieved"}, "rise": {"outcome": "not_attempted"}}
    again = await corrected(running, answer, stages=stages)
    sat = f"/Observation/{answer['screen']['id']}-stage-sitting-balance"
    now = await get(running, sat)
    assert (now["meta"]["versionId"], now["status"]) == ("2", "amended")
    assert (await get(running, f"{sat}/_history/1"))["status"] == "final"
    same = await get(running, f"/Observation/{answer['screen']['id']}-ready-rass")
    assert (same["meta"]["versionId"], same["status"]) == ("1", "final")
    response = await get(running, f"/QuestionnaireResponse/{answer['screen']['id']}")
    assert (response["meta"]["versionId"], response["status"]) == ("2", "amended")
    old = await get(running, f"/CarePlan/{answer['plan']['id']}")
    assert (old["meta"]["versionId"], old["status"]) == ("2", "revoked")
    new = await get(running, f"/CarePlan/{again['plan']['id']}")
    assert (new["meta"]["versionId"], new["status"]) == ("1", "active")


async def test_what_was_withdrawn_is_read_as_entered_in_error(running: World) -> None:
    answer = await running.post(screen())
    await withdrawn(running, answer)
    screen_id = answer["screen"]["id"]
    for path in (
        f"/Observation/{screen_id}-panel",
        f"/QuestionnaireResponse/{screen_id}",
        f"/CarePlan/{answer['plan']['id']}",
    ):
        now = await get(running, path)
        assert (now["meta"]["versionId"], now["status"]) == ("2", "entered-in-error")
        assert (await get(running, f"{path}/_history/1"))["status"] != "entered-in-error"


async def test_a_plan_that_ran_out_is_read_as_completed_and_stays_at_that_version(
    running: World,
) -> None:
    answer = await running.post(screen())
    running.clock.pass_time(timedelta(days=30))
    path = f"/CarePlan/{answer['plan']['id']}"
    first, second = await get(running, path), await get(running, path)
    assert (first["meta"]["versionId"], first["status"]) == ("2", "completed")
    assert second == first
    assert (await get(running, f"{path}/_history/1"))["status"] == "active"


async def test_a_merged_patient_is_read_as_replaced(running: World) -> None:
    first, second = await running.post(screen("H-1")), await running.post(screen("H-2"))
    gone, stays = first["screen"]["patient_id"], second["screen"]["patient_id"]
    await running.client.post(f"/v1/patients/{gone}/merge", json={"into": stays})
    old, new = await get(running, f"/Patient/{gone}"), await get(running, f"/Patient/{stays}")
    assert old["active"] is False
    assert old["link"] == [
        {"other": {"reference": f"Patient/{stays}", "type": "Patient"}, "type": "replaced-by"}
    ]
    assert new["link"][0]["type"] == "replaces"
    for answer in (first, second):
        plan = await get(running, f"/CarePlan/{answer['plan']['id']}")
        listed = await get(running, f"/CarePlan?_id={answer['plan']['id']}")
        assert listed["entry"][0]["resource"] == plan
        for goal in plan.get("goal", []):
            assert (await get(running, f"/{goal['reference']}"))["lifecycleStatus"] == "active"


FORMS = [
    ("application/fhir+xml", 406),
    ("text/html", 406),
    ("application/json", 200),
    ("application/fhir+json; fhirVersion=4.0", 200),
    ("application/fhir+json; fhirVersion=3.0", 406),
]


async def test_json_alone_is_given(running: World) -> None:
    answer = await running.post(screen())
    address = f"{PREFIX}/QuestionnaireResponse/{answer['screen']['id']}"
    for accept, status in FORMS:
        response = await running.client.get(address, headers={"Accept": accept})
        assert (response.status_code, response.headers["content-type"]) == (status, FHIR_JSON)
    xml = await running.client.get(f"{address}?_format=xml")
    assert (xml.status_code, xml.json()["resourceType"]) == (406, "OperationOutcome")


NOT_SERVED = [
    ("PATCH", "/Patient/x", 405),
    ("DELETE", "/CarePlan/x", 405),
    ("PUT", "/CarePlan/x", 405),
    ("GET", "/Medication", 404),
    ("GET", "/Medication/1", 404),
    ("GET", "/_history", 404),
    ("GET", "/Patient/x/$everything", 404),
    ("GET", "", 405),
]


async def test_what_is_not_served_is_told_as_an_outcome(running: World) -> None:
    for method, path, status in NOT_SERVED:
        response = await running.client.request(method, PREFIX + path)
        assert (response.status_code, response.headers["content-type"]) == (status, FHIR_JSON)
        assert response.json()["resourceType"] == "OperationOutcome"
        assert ("allow" in response.headers) == (status == 405)


async def test_without_a_credential_nothing_is_read_but_what_is_open(running: World) -> None:
    for path, status in (("/metadata", 200), ("/Patient", 401), (f"/Patient/{NOWHERE}", 401)):
        response = await running.nobody.get(PREFIX + path)
        assert (response.status_code, response.headers["content-type"]) == (status, FHIR_JSON)
