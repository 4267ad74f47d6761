"""Is a plan overruled and ended over HTTP, and is that seen wherever the plan is read?"""

from datetime import timedelta
from typing import Any

import httpx
import pytest

from tests.web.world import FHIR, World, screen

BY = {"identifier": {"system": "urn:oid:2.999.9", "value": "S-31"}, "role": "physiotherapist"}
FIRST = {"If-Match": '"1"'}


def decision(method: str = "do_not_move", **more: Any) -> dict[str, Any]:
    return {"move": "bed_to_chair", "method": method, "reason": "Fainted twice.", "by": BY} | more


async def overruled(
    running: World, plan: dict[str, Any], body: dict[str, Any], **headers: str
) -> httpx.Response:
    sent = {name.replace("_", "-"): value for name, value in headers.items()}
    address = f"/v1/plans/{plan['id']}/overrule"
    return await running.client.post(address, json=body, headers={**FIRST, **sent})


def to_chair(plan: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = next(one for one in plan["moves"] if one["move"] == "bed_to_chair")
    return found


async def test_the_choice_and_what_was_computed_are_told_wherever_the_plan_is_read(
    running: World,
) -> None:
    answer = await running.post(screen())
    plan = answer["plan"]
    response = await overruled(running, plan, decision())
    assert response.status_code == 200, response.text
    after = response.json()
    assert (after["id"], after["version"]) == (plan["id"], 2)
    moved = to_chair(after)
    assert moved["method"] == "do_not_move"
    assert moved["overrule"]["computed"] == to_chair(plan)
    assert moved["overrule"]["by"] == BY
    assert moved["overrule"]["reason"] == "Fainted twice."
    for address in (
        f"/v1/plans/{plan['id']}",
        f"/v1/patients/{plan['patient_id']}/plan",
    ):
        read = await running.client.get(address)
        assert read.json() == after
        assert read.headers["etag"] == response.headers["etag"]
    whole = await running.client.get(f"/v1/screens/{answer['screen']['id']}")
    assert whole.json()["plan"] == after
    listed = await running.client.get(f"/v1/patients/{plan['patient_id']}/plans")
    assert listed.json()["items"] == [after]
    one = await running.client.get(f"/v1/plans/{plan['id']}/moves/bed_to_chair")
    assert one.json() == one.json() | moved
    assert one.json()["plan_version"] == 2


async def test_a_plan_held_from_before_is_no_longer_as_it_was(running: World) -> None:
    plan = (await running.post(screen()))["plan"]
    address = f"/v1/plans/{plan['id']}"
    held = (await running.client.get(address)).headers["etag"]
    answered = await overruled(running, plan, decision(), If_Match=held, If_None_Match=held)
    assert answered.status_code == 200
    again = await running.client.get(address, headers={"If-None-Match": held})
    assert again.status_code == 200
    stale = await overruled(running, plan, decision("sling_lift"), If_Match=held)
    assert stale.status_code == 412
    fresh = answered.headers["etag"]
    assert (await running.client.get(address, headers={"If-None-Match": fresh})).status_code == 304


async def test_the_computed_method_takes_the_choice_back(running: World) -> None:
    plan = (await running.post(screen()))["plan"]
    await overruled(running, plan, decision())
    back = decision(to_chair(plan)["method"])
    after = (await overruled(running, plan, back, If_Match='"2"')).json()
    assert after["version"] == 3
    assert after["moves"] == plan["moves"]


async def test_the_answer_is_a_care_plan_to_who_asks_for_one(running: World) -> None:
    plan = (await running.post(screen()))["plan"]
    response = await overruled(running, plan, decision(), **FHIR)
    assert response.status_code == 200
    care_plan = response.json()
    assert (care_plan["resourceType"], care_plan["meta"]["versionId"]) == ("CarePlan", "2")
    (change,) = [
        extension
        for activity in care_plan["activity"]
        for extension in activity["detail"]["extension"]
        if extension["url"].endswith("/overrule")
    ]
    told = {part["url"]: part for part in change["extension"]}
    assert told["reason"]["valueString"] == "Fainted twice."
    assert told["by"]["valueReference"]["identifier"]["value"] == "S-31"


@pytest.mark.parametrize(
    ("body", "status", "path"),
    [
        (decision("carry"), 422, "/method"),
        (decision(move="walk_on_water"), 422, "/move"),
        (decision(reason=""), 422, "/reason"),
        (decision(reason="a\u0000b"), 422, "/reason"),
        (
            decision(by={"identifier": {"system": "s", "value": "a\u0007"}}),
            422,
            "/by/identifier/value",
        ),
        (decision(by={"identifier": BY["identifier"], "role": "\u0007"}), 422, "/by/role"),
        (decision(by=None), 422, "/by"),
        (decision(sure=True), 422, "/sure"),
    ],
)
async def test_a_choice_that_cannot_be_is_refused_by_its_place(
    running: World, body: dict[str, Any], status: int, path: str
) -> None:
    plan = (await running.post(screen()))["plan"]
    response = await overruled(running, plan, body)
    assert response.status_code == status, response.text
    assert path in [fault["path"] for fault in response.json()["faults"]]
    assert (await running.client.get(f"/v1/plans/{plan['id']}")).json() == plan


async def test_a_choice_needs_the_version_that_it_was_made_for(running: World) -> None:
    plan = (await running.post(screen()))["plan"]
    address = f"/v1/plans/{plan['id']}/overrule"
    assert (await running.client.post(address, json=decision())).status_code == 428


async def test_a_plan_that_was_replaced_is_neither_overruled_nor_ended(running: World) -> None:
    plan = (await running.post(screen()))["plan"]
    await running.post(screen())
    assert (await overruled(running, plan, decision(), If_Match='"2"')).status_code == 409
    address = f"/v1/plans/{plan['id']}/lapse"
    assert (await running.client.post(address, json={"trigger": "fall"})).status_code == 409


async def test_a_new_plan_says_what_had_been_chosen(running: World) -> None:
    plan = (await running.post(screen()))["plan"]
    await overruled(running, plan, decision())
    after = (await running.post(screen()))["plan"]
    assert after["replaces"] == plan["id"]
    assert after["notices"][0]["rule"] == "notice.set_aside"


async def test_a_trigger_ends_the_plan_for_all_who_read_it(running: World) -> None:
    plan = (await running.post(screen()))["plan"]
    address = f"/v1/plans/{plan['id']}"
    response = await running.client.post(f"{address}/lapse", json={"trigger": "fall", "note": "x"})
    assert response.status_code == 200, response.text
    ended = response.json()
    assert (ended["state"], ended["version"]) == ("lapsed", 2)
    assert ended["ended"]["reason"] == "A fall or a near fall. x"
    assert (await running.client.get(f"/v1/patients/{plan['patient_id']}/plan")).json() == ended
    told = (await running.client.get(address, headers=FHIR)).json()
    assert told["status"] == "revoked"
    assert any("A fall or a near fall. x" in note["text"] for note in told["note"])
    assert (await overruled(running, plan, decision(), If_Match='"2"')).status_code == 409


async def test_a_screen_from_after_what_happened_makes_a_plan_that_holds(running: World) -> None:
    first = screen() | {"observed_at": (running.clock.now - timedelta(hours=2)).isoformat()}
    address = f"/v1/plans/{(await running.post(first))['plan']['id']}/lapse"
    fell = (running.clock.now - timedelta(hours=1)).isoformat()
    sent = {"trigger": "fall", "happened_at": fell}
    assert (await running.client.post(address, json=sent)).json()["ended"]["at"] is not None
    states = []
    for minutes in (90, 30):
        seen = (running.clock.now - timedelta(minutes=minutes)).isoformat()
        states.append((await running.post(screen() | {"observed_at": seen}))["plan"]["state"])
    assert states == ["lapsed", "current"]
    later = {"trigger": "fall", "happened_at": (running.clock.now + timedelta(hours=1)).isoformat()}
    assert (await running.client.post(address, json=later)).status_code == 422


async def test_a_trigger_that_is_none_is_refused_and_named(running: World) -> None:
    plan = (await running.post(screen()))["plan"]
    address = f"/v1/plans/{plan['id']}/lapse"
    for body, path in (
        ({"trigger": "rain"}, "/trigger"),
        ({"trigger": "fall", "note": ""}, "/note"),
    ):
        refused = await running.client.post(address, json=body)
        assert refused.status_code == 422
        assert [fault["path"] for fault in refused.json()["faults"]] == [path]
    stale = {"If-Match": '"2"'}
    sent = await running.client.post(address, json={"trigger": "fall"}, headers=stale)
    assert sent.status_code == 412


async def test_the_tag_of_anything_but_the_plan_itself_names_no_version_of_it(
    running: World,
) -> None:
    answer = await running.post(screen())
    plan = answer["plan"]
    of_screen = await running.client.get(f"/v1/screens/{answer['screen']['id']}")
    of_plan = await running.client.get(f"/v1/plans/{plan['id']}")
    other = (await running.post(screen("H-2")))["plan"]
    for tag, address in (
        (of_screen.headers["etag"], plan["id"]),
        (of_plan.headers["etag"], other["id"]),
    ):
        sent = {"If-Match": tag}
        for deed, body in (("overrule", decision()), ("lapse", {"trigger": "fall"})):
            path = f"/v1/plans/{address}/{deed}"
            response = await running.client.post(path, json=body, headers=sent)
            assert response.status_code == 412, (tag, deed)
    whole = {"If-Match": of_plan.headers["etag"]}
    path = f"/v1/plans/{plan['id']}/overrule"
    assert (await running.client.post(path, json=decision(), headers=whole)).status_code == 200
