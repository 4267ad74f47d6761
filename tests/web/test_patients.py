"""Are patients found, read, listed and merged under opaque ids only?"""

from typing import Any

from tests.web.world import FHIR, World, screen

H1 = {"system": "urn:oid:2.999.7", "value": "H-1"}


async def test_a_patient_is_found_by_a_business_identifier_in_the_body(running: World) -> None:
    kept = await running.post(screen())
    found = await running.client.post("/v1/patients/find", json=H1)
    assert found.json() == {
        "id": kept["screen"]["patient_id"],
        "current_plan": kept["plan"]["id"],
        "merged_into": None,
    }
    nobody = await running.client.post("/v1/patients/find", json={**H1, "value": "H-404"})
    assert nobody.status_code == 404
    assert (await running.stranger.post("/v1/patients/find", json=H1)).status_code == 404


async def test_a_patient_is_read_natively_and_as_fhir(running: World) -> None:
    kept = await running.post(screen())
    address = f"/v1/patients/{kept['screen']['patient_id']}"
    assert (await running.client.get(address)).json()["id"] == kept["screen"]["patient_id"]
    patient = (await running.client.get(address, headers=FHIR)).json()
    assert (patient["resourceType"], patient["id"]) == (
        "Patient",
        kept["screen"]["patient_id"],
    )
    found = await running.client.post("/v1/patients/find", json=H1, headers=FHIR)
    assert found.json() == patient


async def test_the_current_plan_is_that_of_the_screen_observed_last(running: World) -> None:
    newer = await running.post(screen())
    late = await running.post(screen(observed_at="2026-03-01T08:00:00Z"))
    assert late["plan"]["state"] == "superseded"
    address = f"/v1/patients/{newer['screen']['patient_id']}/plan"
    response = await running.client.get(address)
    assert response.json()["id"] == newer["plan"]["id"]
    held = {"If-None-Match": response.headers["etag"]}
    assert (await running.client.get(address, headers=held)).status_code == 304
    care_plan = await running.client.get(address, headers=FHIR)
    assert care_plan.json()["resourceType"] == "CarePlan"


async def test_without_a_standing_plan_there_is_none_to_read(running: World) -> None:
    kept = await running.post(screen())
    address = f"/v1/screens/{kept['screen']['id']}/withdraw"
    await running.client.post(address, json={"reason": "Wrong bed."})
    plan = await running.client.get(f"/v1/patients/{kept['screen']['patient_id']}/plan")
    assert plan.status_code == 404


async def pages(running: World, address: str | None) -> list[Any]:
    seen: list[Any] = []
    while address is not None:
        page = (await running.client.get(address)).json()
        seen.extend(page["items"])
        address = page["next"]
    return seen


async def test_history_is_paged_and_complete(running: World) -> None:
    kept = [
        await running.post(screen(observed_at=f"2026-03-04T0{hour}:00:00Z")) for hour in (1, 2, 3)
    ]
    address = f"/v1/patients/{kept[0]['screen']['patient_id']}"
    screens = await pages(running, f"{address}/screens?limit=1")
    assert [one["id"] for one in screens] == [one["screen"]["id"] for one in reversed(kept)]
    plans = await pages(running, f"{address}/plans?limit=2")
    assert [one["id"] for one in plans] == [one["plan"]["id"] for one in reversed(kept)]
    assert [one["state"] for one in plans] == ["current", "superseded", "superseded"]


async def test_history_is_given_as_fhir_too(running: World) -> None:
    kept = [await running.post(screen(observed_at=f"2026-03-04T0{hour}:00:00Z")) for hour in (1, 2)]
    address = f"/v1/patients/{kept[0]['screen']['patient_id']}"
    for part, kind in (("screens", "QuestionnaireResponse"), ("plans", "CarePlan")):
        bundle = (await running.client.get(f"{address}/{part}?limit=1", headers=FHIR)).json()
        assert [entry["resource"]["resourceType"] for entry in bundle["entry"]] == [kind]
        assert bundle["link"][0]["relation"] == "next"
        assert "H-1" not in bundle["link"][0]["url"]


async def test_a_merged_patient_answers_301_at_every_address(running: World) -> None:
    gone = (await running.post(screen("H-1")))["screen"]["patient_id"]
    stays = (await running.post(screen("H-2")))["screen"]["patient_id"]
    merged = await running.client.post(f"/v1/patients/{gone}/merge", json={"into": stays})
    assert (merged.status_code, merged.json()["id"]) == (200, stays)
    for rest in ("", "/plan", "/screens?limit=1", "/plans?limit=1"):
        response = await running.client.get(f"/v1/patients/{gone}{rest}")
        assert response.status_code == 301
        assert response.headers["location"] == f"/v1/patients/{stays}{rest}"
        followed = await running.client.get(response.headers["location"])
        assert followed.status_code == 200


async def test_a_patient_cannot_be_merged_into_itself_or_nobody(running: World) -> None:
    one = (await running.post(screen()))["screen"]["patient_id"]
    itself = await running.client.post(f"/v1/patients/{one}/merge", json={"into": one})
    assert itself.status_code == 422
    nobody = await running.client.post(f"/v1/patients/{one}/merge", json={"into": "nobody"})
    assert nobody.status_code == 404


async def test_a_patient_of_another_organisation_is_not_found(running: World) -> None:
    one = (await running.post(screen()))["screen"]["patient_id"]
    for rest in ("", "/plan", "/screens", "/plans"):
        response = await running.stranger.get(f"/v1/patients/{one}{rest}")
        assert response.status_code == 404
