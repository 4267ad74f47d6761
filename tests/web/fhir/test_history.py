"""Are all versions of a resource listed newest first, with what was done to make each?"""

from datetime import timedelta

from tests.fhir.validators import official_faults
from tests.web.fhir.served import corrected, faults, get, link, withdrawn
from tests.web.world import World, screen


async def test_every_version_is_listed_newest_first_and_can_be_read(running: World) -> None:
    answer = await running.post(screen())
    await corrected(running, answer, context={"trained_helpers": 1})
    await withdrawn(running, answer)
    path = f"/QuestionnaireResponse/{answer['screen']['id']}"
    bundle = await get(running, f"{path}/_history")
    assert (bundle["type"], bundle["total"]) == ("history", 3)
    versions = [entry["resource"]["meta"]["versionId"] for entry in bundle["entry"]]
    assert versions == ["3", "2", "1"]
    assert [entry["request"]["method"] for entry in bundle["entry"]] == ["PUT", "PUT", "POST"]
    assert [entry["response"]["status"] for entry in bundle["entry"]] == ["200", "200", "201"]
    assert bundle["entry"][0]["resource"] == await get(running, path)
    for entry in bundle["entry"]:
        version = entry["resource"]["meta"]["versionId"]
        assert entry["resource"] == await get(running, f"{path}/_history/{version}")
    assert official_faults(bundle) == []


async def test_the_plan_of_a_patient_screened_again_has_two_versions(running: World) -> None:
    first = await running.post(screen(observed_at="2026-03-04T07:00:00+00:00"))
    await running.post(screen(observed_at="2026-03-04T08:00:00+00:00"))
    bundle = await get(running, f"/CarePlan/{first['plan']['id']}/_history")
    told = [
        (entry["resource"]["meta"]["versionId"], entry["resource"]["status"])
        for entry in bundle["entry"]
    ]
    assert told == [("2", "revoked"), ("1", "active")]
    goal = await get(running, f"/Goal/{first['screen']['patient_id']}-goal-stage/_history")
    versions = [int(entry["resource"]["meta"]["versionId"]) for entry in goal["entry"]]
    assert versions == sorted(versions, reverse=True)
    assert len(set(versions)) == len(versions) >= 2


async def test_a_history_is_paged(running: World) -> None:
    answer = await running.post(screen())
    await withdrawn(running, answer)
    path = f"/Observation/{answer['screen']['id']}-panel/_history"
    first = await get(running, f"{path}?_count=1")
    assert len(first["entry"]) == 1
    following = link(first, "next")
    assert following is not None
    second = await get(running, following)
    assert second["entry"][0]["resource"]["meta"]["versionId"] == "1"
    assert link(second, "next") is None
    assert "entry" not in await get(running, f"{path}?_count=0")


REFUSED = (
    "_count=x", "_count=-1", "_count=1&_count=2", "_page=1.5", "_since=x", "_since=ge2026",
)  # fmt: skip


async def test_a_page_that_cannot_be_is_refused_by_name(running: World) -> None:
    answer = await running.post(screen())
    for query in REFUSED:
        path = f"/Observation/{answer['screen']['id']}-panel/_history?{query}"
        name = query.partition("=")[0]
        assert faults(await get(running, path, 400)) == [("value", f"http.{name}")]


async def test_what_would_leave_versions_out_is_never_passed_over(running: World) -> None:
    answer = await running.post(screen())
    path = f"/CarePlan/{answer['plan']['id']}/_history"
    for name in ("_at", "_list"):
        outcome = await get(running, f"{path}?{name}=2026", 400)
        assert faults(outcome) == [("not-supported", f"http.{name}")]
    assert (await get(running, f"{path}?flavour=sweet"))["total"] == 1
    strict = await get(running, f"{path}?flavour=sweet", 400, prefer="handling=strict")
    assert faults(strict) == [("not-supported", "http.flavour")]
    known = f"{path}?_format=json&_pretty=true&_summary=true&_count=5&_page=1&_since=2026"
    assert (await get(running, known, prefer="handling=strict"))["total"] == 1


async def test_versions_since_a_time_are_listed_alone(running: World) -> None:
    answer = await running.post(screen())
    running.clock.pass_time(timedelta(minutes=5))
    await withdrawn(running, answer)
    path = f"/Observation/{answer['screen']['id']}-panel/_history"
    for since, versions in (
        ("2026-03-04T12:01:00Z", ["2"]),
        ("2026-03-04T12:00:00Z", ["2", "1"]),
        ("2026-03-05", []),
    ):
        bundle = await get(running, f"{path}?_since={since}")
        assert [one["resource"]["meta"]["versionId"] for one in bundle.get("entry", [])] == versions
        assert bundle["total"] == len(versions)
        assert (await get(running, str(link(bundle, "self")))) == bundle


async def test_what_is_not_there_has_no_history(running: World) -> None:
    outcome = await get(running, "/CarePlan/nothing/_history", 404)
    assert faults(outcome) == [("not-found", "")]
