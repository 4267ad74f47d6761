"""Is what belongs to the matches brought along once, marked, and only to those who may see it?"""

from service.storage.keys import create_key
from service.storage.organisations import list_organisations
from service.web.fhir.content import PREFIX
from tests.web.fhir.served import Told, get, ids, matches_of, two_people
from tests.web.world import World, client_of


def kinds(resources: list[Told]) -> list[str]:
    return [one["resourceType"] for one in resources]


async def test_the_patient_comes_along_once(running: World) -> None:
    first, _, other = await two_people(running)
    mine, theirs = first["screen"]["patient_id"], other["screen"]["patient_id"]
    path = f"/CarePlan?patient={mine}&_include=CarePlan:patient"
    bundle = await get(running, path)
    (person,) = matches_of(bundle, "include")
    assert person == await get(running, f"/Patient/{mine}")
    assert bundle["total"] == len(matches_of(bundle)) == 2
    everybody = await get(running, "/Observation?_include=Observation:subject&_count=500")
    assert set(ids(matches_of(everybody, "include"))) == {mine, theirs}


async def test_the_provenance_of_each_screen_comes_along(running: World) -> None:
    first, second, _ = await two_people(running)
    patient = first["screen"]["patient_id"]
    for kind in ("CarePlan", "Observation"):
        path = f"/{kind}?patient={patient}&_revinclude=Provenance:target&_count=500"
        beside = matches_of(await get(running, path), "include")
        assert kinds(beside) == ["Provenance", "Provenance"]
        assert set(ids(beside)) == {f"{one['screen']['id']}-provenance" for one in (first, second)}


async def test_nothing_comes_along_where_nothing_matches(running: World) -> None:
    await two_people(running)
    path = "/CarePlan?status=draft&_include=CarePlan:patient&_revinclude=Provenance:target"
    assert "entry" not in await get(running, path)


async def test_what_the_caller_may_not_read_is_left_out(running: World) -> None:
    await two_people(running)
    org = next(one.org for one in list_organisations(running.database) if one.name == "Harbour")
    scopes = ("system/CarePlan.rs",)
    key = create_key(running.database, running.clock, org, "plans", scopes=scopes).key
    path = "/CarePlan?_include=CarePlan:patient&_revinclude=Provenance:target"
    async with client_of(running.app, key) as limited:
        response = await limited.get(PREFIX + path)
        refused = await limited.get(f"{PREFIX}/Patient")
    assert {entry["search"]["mode"] for entry in response.json()["entry"]} == {"match"}
    assert (refused.status_code, refused.json()["resourceType"]) == (403, "OperationOutcome")
