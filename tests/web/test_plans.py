"""Are plans read in the state of the moment, and never twice for nothing?"""

from datetime import timedelta

import pytest

from tests.web.world import FHIR, World, screen


async def test_a_plan_is_read_by_its_id(running: World) -> None:
    kept = await running.post(screen())
    response = await running.client.get(f"/v1/plans/{kept['plan']['id']}")
    assert response.json() == kept["plan"]
    assert response.headers["cache-control"] == "private, no-cache"
    assert response.headers["vary"] == "Accept, Accept-Encoding"


async def test_a_plan_held_already_answers_304_until_the_clock_makes_it_lapse(
    running: World,
) -> None:
    kept = await running.post(screen())
    address = f"/v1/plans/{kept['plan']['id']}"
    first = await running.client.get(address)
    held = {"If-None-Match": first.headers["etag"]}
    assert (await running.client.get(address, headers=held)).status_code == 304
    several = {"If-None-Match": f'"other", W/{first.headers["etag"]}'}
    assert (await running.client.get(address, headers=several)).status_code == 304
    running.clock.pass_time(timedelta(days=60))
    lapsed = await running.client.get(address, headers=held)
    assert lapsed.status_code == 200
    assert lapsed.json()["state"] == "lapsed"
    assert lapsed.headers["etag"] != first.headers["etag"]


async def test_native_and_fhir_of_one_plan_have_different_tags(running: World) -> None:
    kept = await running.post(screen())
    address = f"/v1/plans/{kept['plan']['id']}"
    native = await running.client.get(address)
    fhir = await running.client.get(address, headers=FHIR)
    assert fhir.json()["resourceType"] == "CarePlan"
    assert fhir.headers["etag"] != native.headers["etag"]
    held = {**FHIR, "If-None-Match": native.headers["etag"]}
    assert (await running.client.get(address, headers=held)).status_code == 200


@pytest.mark.parametrize("coding", ["gzip", "identity", "gzip;q=0", "*;q=0"])
async def test_a_tag_belongs_to_its_coding_and_is_known_in_either(
    running: World, coding: str
) -> None:
    kept = await running.post(screen())
    address = f"/v1/plans/{kept['plan']['id']}"
    response = await running.client.get(address, headers={"Accept-Encoding": coding})
    packed = coding == "gzip"
    assert ("content-encoding" in response.headers) == packed
    assert response.headers["etag"].endswith('+gzip"') == packed
    held = {"If-None-Match": response.headers["etag"], "Accept-Encoding": "identity"}
    assert (await running.client.get(address, headers=held)).status_code == 304


async def test_one_move_is_read_alone(running: World) -> None:
    kept = await running.post(screen())
    planned = kept["plan"]["moves"][0]
    address = f"/v1/plans/{kept['plan']['id']}/moves/{planned['move']}"
    read = (await running.client.get(address)).json()
    plan = kept["plan"]
    (interim,) = [one for one in plan["while_lapsed"] if one["move"] == planned["move"]]
    assert read == planned | {
        "plan_id": plan["id"],
        "plan_version": 1,
        "plan_state": "current",
        "valid_until": plan["valid_until"],
        "while_lapsed": interim,
    }


async def test_one_move_says_when_its_plan_holds_no_more(running: World) -> None:
    kept = await running.post(screen())
    address = f"/v1/plans/{kept['plan']['id']}"
    await running.client.post(f"{address}/lapse", json={"trigger": "fall"})
    lapsed = (await running.client.get(f"{address}/moves/bed_to_chair")).json()
    assert (lapsed["plan_state"], lapsed["plan_version"]) == ("lapsed", 2)
    assert lapsed["while_lapsed"]["move"] == "bed_to_chair"
    await running.post(screen())
    replaced = (await running.client.get(f"{address}/moves/bed_to_chair")).json()
    assert replaced["plan_state"] == "superseded"


async def test_a_move_that_is_none_or_was_not_planned_is_not_found(running: World) -> None:
    kept = await running.post({**screen(), "context": {"moves": ["bed_to_chair"]}})
    address = f"/v1/plans/{kept['plan']['id']}/moves"
    assert (await running.client.get(f"{address}/flying")).status_code == 404
    assert (await running.client.get(f"{address}/walk")).status_code == 404


async def test_a_move_is_not_to_be_had_as_fhir(running: World) -> None:
    kept = await running.post(screen())
    address = f"/v1/plans/{kept['plan']['id']}/moves/bed_to_chair"
    response = await running.client.get(address, headers=FHIR)
    assert response.status_code == 406
    assert response.json()["resourceType"] == "OperationOutcome"


async def test_another_organisation_does_not_see_the_plan(running: World) -> None:
    kept = await running.post(screen())
    response = await running.stranger.get(f"/v1/plans/{kept['plan']['id']}")
    assert response.status_code == 404
