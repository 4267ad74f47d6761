"""Does the FHIR of a screen follow the patient: next screen, correction, lapse, joined record?"""

from datetime import timedelta
from typing import Any

import httpx

from tests.fhir.own_checks import bundle_faults
from tests.fhir.validators import read
from tests.web.world import FHIR, World, screen

LATER = "2026-03-04T08:45:00+00:00"
EARLIER = "2026-03-04T07:45:00+00:00"


def fallen(**more: Any) -> dict[str, Any]:
    body = screen(**more)
    return {**body, "patient": {**body["patient"], "falls_last_12_months": 2}}


def steady(**more: Any) -> dict[str, Any]:
    body = screen(**more)
    return {**body, "patient": {**body["patient"], "falls_last_12_months": 0}}


def of(response: httpx.Response, kind: str) -> list[dict[str, Any]]:
    assert response.status_code in (200, 201), response.text
    assert bundle_faults(read(response.content)) == []
    return [
        entry["resource"]
        for entry in response.json()["entry"]
        if entry["resource"]["resourceType"] == kind
    ]


def states(response: httpx.Response, kind: str) -> dict[str, str]:
    """Status by kind of resource."""
    told = {}
    for one in of(response, kind):
        name = one["id"].split("-", 5)[5]
        told[name] = one.get("status") or one["lifecycleStatus"]
    return told


async def post(running: World, body: dict[str, Any]) -> httpx.Response:
    return await running.client.post("/v1/screens", json=body, headers=FHIR)


async def test_the_next_screen_takes_the_flag_down_and_asks_for_the_one_after(
    running: World,
) -> None:
    first = await post(running, fallen())
    assert states(first, "Flag")["flag-falls"] == "active"
    second = await post(running, steady(observed_at=LATER))
    assert states(second, "Flag")["flag-falls"] == "inactive"
    (task,), (plan,) = of(second, "Task"), of(second, "CarePlan")
    assert task["status"] == "requested"
    assert task["focus"]["reference"] == f"CarePlan/{plan['id']}"
    assert task["meta"]["versionId"] == "3"
    (before,) = of(first, "Task")
    assert (before["id"], before["meta"]["versionId"]) == (task["id"], "1")


async def test_a_plan_that_gave_way_no_longer_speaks_for_the_patient(running: World) -> None:
    first = await post(running, fallen())
    await post(running, steady(observed_at=LATER))
    again = await running.client.get(first.headers["location"], headers=FHIR)
    assert of(again, "CarePlan")[0]["status"] == "revoked"
    assert [of(again, kind) for kind in ("Goal", "Flag", "Task")] == [[], [], []]


async def test_when_the_time_ran_out_goals_wait_and_the_screen_is_urgent(running: World) -> None:
    first = await post(running, fallen())
    assert set(states(first, "Goal").values()) == {"active"}
    running.clock.now += timedelta(days=30)
    again = await running.client.get(first.headers["location"], headers=FHIR)
    assert of(again, "CarePlan")[0]["status"] == "completed"
    assert set(states(again, "Goal").values()) == {"on-hold"}
    assert of(again, "Task")[0]["priority"] == "urgent"
    assert states(again, "Flag")["flag-falls"] == "active"


async def test_what_a_correction_left_alone_keeps_its_version_and_time(running: World) -> None:
    first = await post(running, screen())
    running.clock.now += timedelta(minutes=3)
    body = screen()
    body["stages"]["forward_lean"] = {"outcome": "achieved"}
    corrected = await running.client.put(
        first.headers["location"],
        json={**body, "correction_reason": "Seen, not written down."},
        headers={**FHIR, "If-Match": first.headers["etag"]},
    )
    before = {one["id"]: one for one in of(first, "Observation")}
    after = {one["id"]: one for one in of(corrected, "Observation")}
    changed = {name.split("-", 5)[5] for name, one in after.items() if before.get(name) != one}
    assert "stage-forward-lean" in changed
    assert "stage-rise" not in changed
    for name, one in after.items():
        version = "2" if name.split("-", 5)[5] in changed else "1"
        assert (one["meta"]["versionId"], one["status"] == "amended") == (version, version == "2")
    again = await running.client.get(first.headers["location"], headers=FHIR)
    assert again.json()["entry"] == corrected.json()["entry"]


async def test_a_withdrawn_screen_takes_all_back_that_rested_on_it(running: World) -> None:
    first = await post(running, fallen())
    taken = await running.client.post(
        f"{first.headers['location']}/withdraw", json={"reason": "Wrong person."}, headers=FHIR
    )
    for kind in ("Observation", "CarePlan", "Flag", "Goal", "Task", "QuestionnaireResponse"):
        found = of(taken, kind)
        assert found, kind
        assert {one.get("status", one.get("lifecycleStatus")) for one in found} == {
            "entered-in-error"
        }


async def test_who_holds_the_bundle_is_told_when_the_patient_stands_elsewhere(
    running: World,
) -> None:
    first = await post(running, screen())
    address, tag = first.headers["location"], first.headers["etag"]
    held = await running.client.get(address, headers={**FHIR, "If-None-Match": tag})
    assert held.status_code == 304
    await post(running, fallen(observed_at=EARLIER))
    moved = await running.client.get(address, headers={**FHIR, "If-None-Match": tag})
    assert moved.status_code == 200
    assert of(moved, "Task")[0]["meta"]["versionId"] == "3"


async def test_a_joined_record_leads_to_the_one_who_stays(running: World) -> None:
    gone = await post(running, screen("H-1", LATER))
    stays = await post(running, screen("H-2"))
    gone_id, stays_id = of(gone, "Patient")[0]["id"], of(stays, "Patient")[0]["id"]
    joined = await running.client.post(
        f"/v1/patients/{gone_id}/merge", json={"into": stays_id}, headers=FHIR
    )
    assert joined.json()["link"] == [
        {"other": {"reference": f"Patient/{gone_id}", "type": "Patient"}, "type": "replaces"}
    ]
    again = await running.client.get(gone.headers["location"], headers=FHIR)
    told = again.json()["entry"]
    tasks = [one["resource"] for one in told if one["resource"]["resourceType"] == "Task"]
    assert [one["for"]["reference"] for one in tasks] == [f"Patient/{stays_id}"]
    (person,) = [one["resource"] for one in told if one["resource"]["resourceType"] == "Patient"]
    assert (await running.client.get(f"/fhir/R4/Patient/{gone_id}")).json() == person
    (plan,) = [one["resource"] for one in told if one["resource"]["resourceType"] == "CarePlan"]
    goals = [one["resource"] for one in told if one["resource"]["resourceType"] == "Goal"]
    assert [one["reference"] for one in plan["goal"]] == [f"Goal/{one['id']}" for one in goals]
    assert (await running.client.get(f"/fhir/R4/CarePlan/{plan['id']}")).json() == plan
    native = await running.client.get(f"/v1/patients/{gone_id}")
    assert native.status_code == 301


async def test_a_flag_reads_the_same_in_the_answer_and_by_itself(running: World) -> None:
    await post(running, fallen(observed_at=EARLIER))
    again = await post(running, fallen())
    closing = await post(running, steady(observed_at=LATER))
    after = await post(running, steady(observed_at="2026-03-04T08:50:00+00:00"))
    for answer, version in ((again, "3"), (closing, "5")):
        (told,) = [one for one in of(answer, "Flag") if one["id"].endswith("-flag-falls")]
        address = f"/fhir/R4/Flag/{told['id']}/_history/{version}"
        assert (await running.client.get(address)).json() == told
    assert "flag-falls" not in states(after, "Flag")
