"""Does a search select by code, date, change and id what has them, and refuse what cannot be?"""

from datetime import timedelta
from urllib.parse import quote

from service.web.fhir.search import NOBODY
from tests.web.fhir.served import (
    EARLY,
    corrected,
    faults,
    found,
    get,
    ids,
    matches_of,
    two_people,
    withdrawn,
)
from tests.web.world import World, screen

TYPES = ("Observation", "QuestionnaireResponse", "CarePlan", "Goal", "Flag", "Task", "Provenance")


async def test_codes_categories_and_statuses_select_what_has_them(running: World) -> None:
    first, _, _ = await two_people(running)
    base = f"/Observation?patient={first['screen']['patient_id']}"
    everything = await found(running, f"{base}&_count=500")
    rass = next(one for one in everything if one["id"].endswith("-ready-rass"))
    coding = rass["code"]["coding"][0]
    token = quote(f"{coding['system']}|{coding['code']}", safe="")
    by_code = await found(running, f"{base}&code={token}")
    assert ids(by_code) == [one["id"] for one in everything if one["code"] == rass["code"]]
    assert ids(await found(running, f"{base}&code={coding['code']},nothing")) == ids(by_code)
    assert await found(running, f"{base}&code=%7C{coding['code']}") == []
    rest = await found(running, f"{base}&code:not={token}&_count=500")
    assert len(rest) == len(everything) - len(by_code)
    assert len(await found(running, f"{base}&category=survey&_count=500")) == len(everything)
    assert await found(running, f"{base}&category=laboratory") == []
    assert len(await found(running, f"{base}&status=final&_count=500")) == len(everything)
    active = await found(
        running, f"/CarePlan?patient={first['screen']['patient_id']}&status=active"
    )
    assert [one["status"] for one in active] == ["active"]


async def test_dates_select_by_when_it_was_observed_valid_or_changed(running: World) -> None:
    first, second, _ = await two_people(running)
    patient = first["screen"]["patient_id"]

    async def screens(query: str) -> set[str]:
        seen = await found(running, f"/Observation?patient={patient}&_count=500&{query}")
        return {one["id"][:36] for one in seen}

    early, late = first["screen"]["id"], second["screen"]["id"]
    assert await screens("date=2026-03-04") == {early, late}
    assert await screens("date=2026-03-04T07:00Z") == {early}
    assert await screens("date=gt2026-03-04T07:00:00Z") == {late}
    assert await screens("date=2026-03-04T08:15:00%2B00:00") == {late}
    assert await screens("date=lt2026-03-04T07:00:00Z") == set()
    assert await screens("date=ge2026-03-04T07:00:00Z&date=le2026-03-04T08:00:00Z") == {early}
    assert await screens("date=2026-03-03,2026-03-04T07:00Z") == {early}
    assert await screens("_lastUpdated=gt2026-03-04T12:00:01Z") == set()
    assert await screens("_lastUpdated=le2026-03-04T12:00:00Z&_sort=-date") == {early, late}
    plans = f"/CarePlan?patient={patient}"
    assert len(await found(running, f"{plans}&date=ge2026-03-04T08:00:00Z")) == 2
    assert len(await found(running, f"{plans}&date=eb2026-03-04T06:00:00Z")) == 0
    assert len(await found(running, "/CarePlan?date=lt2026-03-04T07:15:00Z")) == 1


async def test_a_date_without_a_zone_is_meant_as_the_clocks_of_the_house_show_it(
    running: World,
) -> None:
    await running.post(screen("H-1", "2026-03-03T23:30:00+00:00"))
    assert len(await found(running, "/CarePlan?date=lt2026-03-04")) == 1
    summer = await running.post(screen("H-2", "2025-07-01T23:30:00+00:00"))
    seen = await found(running, "/QuestionnaireResponse?authored=2025-07-02")
    assert ids(seen) == [summer["screen"]["id"]]


async def test_what_changed_since_is_found_with_corrections_and_withdrawals(
    running: World,
) -> None:
    first, second, other = await two_people(running)
    running.clock.pass_time(timedelta(minutes=10))
    stages = {"sitting_balance": {"outcome": "not_achieved"}, "rise": {"outcome": "not_attempted"}}
    again = await corrected(running, first, stages=stages, observed_at=EARLY)
    await withdrawn(running, other)
    since = "_lastUpdated=ge2026-03-04T12:05:00Z"
    responses = await found(running, f"/QuestionnaireResponse?{since}&_sort=_lastUpdated")
    assert [(one["id"], one["status"]) for one in responses] == [
        (first["screen"]["id"], "amended"),
        (other["screen"]["id"], "entered-in-error"),
    ]
    changed = await found(running, f"/Observation?{since}&_count=9")
    assert {one["meta"]["versionId"] for one in changed} == {"2"}
    assert f"{first['screen']['id']}-ready-rass" not in ids(changed)
    assert f"{first['screen']['id']}-stage-sitting-balance" in ids(changed)
    plans = await found(running, f"/CarePlan?{since}")
    assert second["plan"]["id"] not in ids(plans)
    assert set(ids(plans)) == {again["plan"]["id"], other["plan"]["id"]}


async def test_ids_are_looked_up_and_still_held_to_the_other_conditions(running: World) -> None:
    first, second, other = await two_people(running)
    names = f"{first['plan']['id']},{other['plan']['id']},{NOBODY}"
    assert len(await found(running, f"/CarePlan?_id={names}&_count=1")) == 2
    patient = other["screen"]["patient_id"]
    mine = await found(running, f"/CarePlan?_id={names}&patient={patient}")
    assert ids(mine) == [other["plan"]["id"]]
    assert await found(running, f"/CarePlan?_id={second['plan']['id']}&status=revoked") == []


async def test_a_provenance_is_found_by_what_it_is_of(running: World) -> None:
    first, _, _ = await two_people(running)
    screen_id, plan = first["screen"]["id"], first["plan"]["id"]
    for target in (f"CarePlan/{plan}", f"Observation/{screen_id}-panel"):
        seen = await found(running, f"/Provenance?target={target}")
        assert ids(seen) == [f"{screen_id}-provenance"]
    assert await found(running, f"/Provenance?target=Observation/{screen_id}-nothing") == []
    assert await found(running, f"/Provenance?target=Goal/{screen_id}") == []
    both = f"/Provenance?target=CarePlan/{plan}&target=Observation/{screen_id}-panel"
    assert ids(await found(running, both)) == [f"{screen_id}-provenance"]


async def test_what_is_not_known_is_told_or_refused_when_strict(running: World) -> None:
    await two_people(running)
    bundle = await get(running, "/CarePlan?encounter=V-88&status=active")
    assert len(matches_of(bundle)) == 2
    (outcome,) = matches_of(bundle, "outcome")
    assert faults(outcome) == [("not-supported", "")]
    assert "V-88" not in repr(bundle["link"]) + repr(outcome)
    strict = await get(running, "/CarePlan?encounter=V-88", 400, prefer="handling=strict")
    assert faults(strict) == [("not-supported", "http.encounter")]


async def test_what_cannot_be_is_refused_with_the_name_of_its_parameter(running: World) -> None:
    for query, name in (
        ("date=soon", "date"),
        ("patient=", "patient"),
        ("_count=-1", "_count"),
        ("_sort=code", "_sort"),
        ("_cursor=nonsense", "_cursor"),
        ("_cursor=WyJ4IiwiIiwiIixudWxsXQ", "_cursor"),
        ("patient.identifier=urn:x%7C", "patient"),
        ("_summary=much", "_summary"),
    ):
        outcome = await get(running, f"/Observation?{query}", 400)
        assert faults(outcome) == [("value", f"http.{name}")], query


async def test_what_is_found_is_what_is_read_when_a_plan_has_run_out_too(running: World) -> None:
    first, _, _ = await two_people(running)
    patient = first["screen"]["patient_id"]
    kinds = ("CarePlan", "Goal", "Flag", "Task", "Provenance", "Patient", "Observation")
    for days in (0, 30):
        running.clock.pass_time(timedelta(days=days))
        for kind in kinds:
            by = "_id" if kind == "Patient" else "patient"
            for one in (await found(running, f"/{kind}?{by}={patient}"))[:4]:
                assert await get(running, f"/{kind}/{one['id']}") == one
    (task,) = await found(running, f"/Task?patient={patient}")
    assert task["priority"] == "urgent"
