"""What does an interface see once a clinician chose otherwise, or something ended a plan?"""

from datetime import timedelta
from typing import Any

from service.web.fhir.content import PREFIX
from tests.web.fhir.changed import (
    BY,
    LIFT,
    MOVE,
    chosen,
    ended,
    faultless,
    method,
    overruled,
    versions,
)
from tests.web.fhir.office import office_in, said
from tests.web.fhir.served import corrected, get, link, matches_of, withdrawn
from tests.web.world import FHIR, World, screen


async def test_the_history_has_what_was_computed_then_the_choice_then_that_it_was_taken_back(
    running: World,
) -> None:
    first = (await running.post(screen()))["plan"]
    second = await overruled(running, first, LIFT)
    await overruled(running, second, method(first))
    computed, choice, back = await versions(running, f"/CarePlan/{first['id']}")
    assert [one["meta"]["versionId"] for one in (computed, choice, back)] == ["1", "2", "3"]
    assert chosen(choice) == (LIFT, "scheduled")
    assert chosen(computed) == chosen(back) == (method(first), "scheduled")
    assert computed["activity"] == back["activity"]
    assert [note["time"] for note in choice["note"] if "time" in note] == [
        choice["meta"]["lastUpdated"]
    ]
    assert "a clinician's choice was taken back" in back["note"][0]["text"]
    assert {one["status"] for one in (computed, choice, back)} == {"active"}
    faultless(choice, back)


async def test_a_choice_is_seen_by_whoever_holds_the_plan_as_computed(running: World) -> None:
    plan = (await running.post(screen()))["plan"]
    before = await running.client.get(f"{PREFIX}/CarePlan/{plan['id']}")
    held = {"If-None-Match": before.headers["etag"]}
    again = await running.client.get(f"{PREFIX}/CarePlan/{plan['id']}", headers=held)
    assert again.status_code == 304
    since = before.json()["meta"]["lastUpdated"]
    await overruled(running, plan, LIFT)
    after = await running.client.get(f"{PREFIX}/CarePlan/{plan['id']}", headers=held)
    assert (after.status_code, after.headers["etag"]) == (200, 'W/"2"')
    changed = await get(running, f"/CarePlan?_lastUpdated=gt{since}")
    assert [one["meta"]["versionId"] for one in matches_of(changed)] == ["2"]


async def test_the_answer_to_a_choice_is_the_plan_as_it_is_read_and_listed(running: World) -> None:
    plan = (await running.post(screen()))["plan"]
    response = await running.client.post(
        f"/v1/plans/{plan['id']}/overrule",
        json={"move": MOVE, "method": LIFT, "reason": "Saw it today.", "by": BY},
        headers={"If-Match": '"1"', **FHIR},
    )
    assert response.status_code == 200, response.text
    told = await get(running, f"/CarePlan/{plan['id']}")
    assert response.json() == told
    listed = await running.client.get(f"/v1/patients/{plan['patient_id']}/plans", headers=FHIR)
    assert [one["resource"] for one in listed.json()["entry"]] == [told]


async def test_each_version_has_a_provenance_that_names_whoever_made_it(running: World) -> None:
    answer = await running.post(screen())
    plan = await overruled(running, answer["plan"], LIFT)
    await ended(running, plan)
    path = f"/Provenance/{answer['screen']['id']}-provenance"
    told = await versions(running, path)
    assert [one["activity"]["coding"][0]["code"] for one in told] == [
        "screened", "overruled", "ended",
    ]  # fmt: skip
    assert [one["target"][0]["reference"].rpartition("/")[2] for one in told] == ["1", "2", "3"]
    assert [one["reason"][0]["text"] for one in told[1:]] == [
        "Saw it today.", "A fall or a near fall. At the window.",
    ]  # fmt: skip
    authors = [agent["who"].get("identifier", {}).get("value") for agent in told[1]["agent"]]
    assert "S-77" in authors
    faultless(*told[1:])
    for kind in ("CarePlan", "Observation"):
        found = await get(running, f"/{kind}?_revinclude=Provenance:target&_count=1")
        assert matches_of(found, "include") == [told[-1]]


async def test_a_plan_that_was_ended_early_is_revoked_with_its_moves_and_says_why(
    running: World,
) -> None:
    first = (await running.post(screen()))["plan"]
    await ended(running, await overruled(running, first, LIFT))
    plan = (await versions(running, f"/CarePlan/{first['id']}"))[-1]
    assert (plan["status"], chosen(plan)) == ("revoked", (LIFT, "cancelled"))
    assert plan["note"][-1]["text"] == "Ended: A fall or a near fall. At the window."
    patient = f"patient={first['patient_id']}"
    for status, ids in (("revoked", [plan["id"]]), ("active", []), ("completed", [])):
        found = await get(running, f"/CarePlan?{patient}&status={status}")
        assert [one["id"] for one in matches_of(found)] == ids
    faultless(plan)


async def test_the_flag_follows_what_stands(running: World) -> None:
    first = (await running.post({**screen(), "context": {"moves": [MOVE]}}))["plan"]
    path = f"/Flag/{first['patient_id']}-flag-do-not-move"
    missing = await running.client.get(f"{PREFIX}{path}")
    assert missing.status_code == 404
    second = await overruled(running, first, "do_not_move")
    chose = await get(running, path)
    assert (chose["status"], chose["code"]["text"]) == ("active", "Do not move now")
    assert chose["period"] == {"start": chose["meta"]["lastUpdated"]}
    await overruled(running, second, LIFT)
    after = await get(running, path)
    assert after["status"] == "inactive"
    assert after["period"] == {**chose["period"], "end": after["meta"]["lastUpdated"]}
    faultless(chose, after)


async def test_a_plan_that_takes_over_says_which_choice_it_left_behind(running: World) -> None:
    first = (await running.post(screen(observed_at="2026-03-04T07:30:00+00:00")))["plan"]
    await overruled(running, first, LIFT)
    second = (await running.post(screen(observed_at="2026-03-04T08:00:00+00:00")))["plan"]
    new = await get(running, f"/CarePlan/{second['id']}")
    assert new["replaces"] == [{"reference": f"CarePlan/{first['id']}"}]
    notes = [one["text"] for one in new["note"]]
    assert any("for the plan that stood before, a clinician had chosen" in one for one in notes)
    assert chosen(new) == (method(first), "scheduled")
    old = await versions(running, f"/CarePlan/{first['id']}")
    assert [(one["status"], *chosen(one)) for one in old] == [
        ("active", method(first), "scheduled"),
        ("active", LIFT, "scheduled"),
        ("revoked", LIFT, "cancelled"),
    ]
    faultless(new, old[-1])


async def test_a_corrected_screen_has_a_plan_of_its_own_that_says_what_was_left_behind(
    running: World,
) -> None:
    answer = await running.post(screen())
    await overruled(running, answer["plan"], LIFT)
    new = await corrected(running, answer, context={"trained_helpers": 1})
    made = await get(running, f"/CarePlan/{new['plan']['id']}")
    notes = [one["text"] for one in made["note"]]
    assert any("for the plan that stood before, a clinician had chosen" in one for one in notes)
    told = await versions(running, f"/Provenance/{answer['screen']['id']}-provenance")
    assert [(one["meta"]["versionId"], one["activity"]["coding"][0]["code"]) for one in told] == [
        ("1.1", "screened"), ("1.2", "overruled"), ("2.1", "corrected"),
    ]  # fmt: skip
    faultless(made, told[-1])


async def test_a_choice_made_of_a_screen_in_error_is_in_error_with_it(running: World) -> None:
    answer = await running.post(screen())
    await overruled(running, answer["plan"], "do_not_move")
    running.clock.pass_time(timedelta(minutes=1))
    await withdrawn(running, answer)
    plan = await get(running, f"/CarePlan/{answer['plan']['id']}")
    assert (plan["status"], chosen(plan)) == (
        "entered-in-error", ("do_not_move", "entered-in-error"),
    )  # fmt: skip
    flag = await get(running, f"/Flag/{answer['screen']['patient_id']}-flag-do-not-move")
    assert flag["status"] == "entered-in-error"
    faultless(plan, flag)


async def test_the_whole_answer_is_of_one_moment(running: World) -> None:
    answer = await running.post(screen())
    await overruled(running, answer["plan"], LIFT)
    response = await running.client.get(f"/v1/screens/{answer['screen']['id']}", headers=FHIR)
    told: dict[str, Any] = {
        one["resource"]["resourceType"]: one["resource"] for one in response.json()["entry"]
    }
    plan = f"CarePlan/{answer['plan']['id']}"
    assert told["CarePlan"] == await get(running, f"/{plan}")
    assert told["Provenance"]["target"][0]["reference"] == f"{plan}/_history/2"
    assert told["Task"]["focus"] == {"reference": plan}


async def test_the_trail_tells_of_both_as_updates_of_the_plan(running: World) -> None:
    plan = await overruled(running, (await running.post(screen()))["plan"], LIFT)
    await ended(running, plan)
    async with office_in(running) as office:
        events = {said(one): one for one in await office.found(f"entity=CarePlan/{plan['id']}")}
    for action in ("plan.overrule: ok", "plan.lapse: ok"):
        event = events[action]
        assert (event["action"], event["subtype"][0]["code"]) == ("U", "update")
        faultless(event)


async def test_a_refused_choice_leaves_no_version(running: World) -> None:
    plan = (await running.post(screen()))["plan"]
    await overruled(running, {**plan, "version": 7}, LIFT, status=412)
    await overruled(running, plan, "by_magic", status=422)
    bundle = await get(running, f"/CarePlan/{plan['id']}/_history")
    assert (bundle["total"], link(bundle, "next")) == (1, None)


async def test_a_flag_in_the_whole_answer_is_the_one_that_is_read(running: World) -> None:
    """Also once nothing of a clinician is left in the plan, which stands so since then."""
    combative = {**screen(), "context": {"moves": [MOVE]}}
    combative["readiness"] = {**combative["readiness"], "rass": 4}
    answer = await running.post(combative)
    plan = answer["plan"]
    for chose, status in ((LIFT, "inactive"), ("do_not_move", "active")):
        plan = await overruled(running, plan, chose)
        flag = await get(running, f"/Flag/{plan['patient_id']}-flag-do-not-move")
        response = await running.client.get(f"/v1/screens/{plan['screen_id']}", headers=FHIR)
        assert flag in [one["resource"] for one in response.json()["entry"]]
        assert flag["status"] == status
        changed = flag["period"]["end" if status == "inactive" else "start"]
        assert changed == flag["meta"]["lastUpdated"]


async def test_what_is_to_be_reached_and_when_to_screen_again_does_not_follow_from_a_choice(
    running: World,
) -> None:
    plan = (await running.post(screen()))["plan"]
    paths = [f"/{kind}?patient={plan['patient_id']}" for kind in ("Goal", "Task")]
    before = [one for path in paths for one in matches_of(await get(running, path))]
    await overruled(running, plan, LIFT)
    after = [one for path in paths for one in matches_of(await get(running, path))]
    assert {one["resourceType"] for one in before} == {"Goal", "Task"}
    own = ("meta", "lastModified")
    assert [{name: one[name] for name in one if name not in own} for one in after] == [
        {name: one[name] for name in one if name not in own} for one in before
    ]
