"""Is a search answered with exactly what it asks for, and with links that tell no identifier?"""

import sqlite3
from contextlib import closing
from datetime import timedelta
from urllib.parse import quote

import msgspec

from service.web.fhir.content import PREFIX
from service.web.fhir.search import NOBODY
from tests.fhir.validators import official_faults
from tests.web.fhir.served import (
    FHIR_JSON,
    FORM,
    IDENTIFIER,
    Told,
    found,
    get,
    ids,
    link,
    matches_of,
    two_people,
)
from tests.web.world import World, screen

TYPES = ("Observation", "QuestionnaireResponse", "CarePlan", "Goal", "Flag", "Task", "Provenance")


def whose(resource: Told) -> str:
    subject = resource.get("subject") or resource.get("for")
    assert subject is not None
    patient: str = subject["reference"]
    return patient.removeprefix("Patient/")


def trail(running: World) -> list[tuple[str, str | None]]:
    with closing(sqlite3.connect(running.database)) as connection:
        rows = connection.execute("SELECT body FROM audit ORDER BY at, chain, seq").fetchall()
    told = [msgspec.json.decode(row[0]) for row in rows]
    return [(entry["action"], entry["patient"]) for entry in told]


async def test_each_way_to_name_the_patient_finds_the_same_and_nothing_of_others(
    running: World,
) -> None:
    first, _, _ = await two_people(running)
    patient = first["screen"]["patient_id"]
    forms = [
        f"patient={patient}",
        f"patient=Patient/{patient}",
        f"patient={quote('http://testserver/fhir/R4/Patient/', safe='')}{patient}",
        f"patient:Patient={patient}",
        f"patient.identifier={quote(IDENTIFIER, safe='')}",
        f"patient:identifier={quote(IDENTIFIER, safe='')}",
        "patient.identifier=H-1",
        f"patient={patient},{NOBODY}",
    ]
    for kind in TYPES:
        expected = ids(await found(running, f"/{kind}?{forms[0]}"))
        assert expected
        for form in forms[1:]:
            assert ids(await found(running, f"/{kind}?{form}")) == expected, (kind, form)
    seen = await found(running, f"/Observation?{forms[0]}")
    assert {whose(one) for one in seen} == {patient}
    assert ids(await found(running, f"/Observation?subject={patient}")) == ids(seen)


async def test_whom_nobody_knows_has_nothing(running: World) -> None:
    await two_people(running)
    for form in (
        f"patient={NOBODY}",
        "patient=Group/1",
        "patient=https://elsewhere.example/Patient/1",
        "patient.identifier=urn:oid:2.999.7|nobody",
        "patient.identifier=|H-1",
        "patient.identifier=urn:other|H-1",
    ):
        bundle = await get(running, f"/Observation?{quote(form, safe='=&:/')}")
        assert (bundle["total"], "entry" in bundle) == (0, False)
        assert link(bundle, "self") is not None
        assert "H-1" not in str(link(bundle, "self"))


async def test_two_conditions_on_the_patient_must_both_hold(running: World) -> None:
    first, _, other = await two_people(running)
    mine, theirs = first["screen"]["patient_id"], other["screen"]["patient_id"]
    both = await get(running, f"/CarePlan?patient={mine},{theirs}")
    assert both["total"] == 3
    assert (await get(running, f"/CarePlan?patient={mine}&patient={theirs}"))["total"] == 0


async def test_no_link_ever_tells_a_business_identifier(running: World) -> None:
    await two_people(running)
    for path in (
        f"/Patient?identifier={quote(IDENTIFIER, safe='')}",
        "/Patient?identifier=H-9",
        f"/Observation?patient.identifier={quote(IDENTIFIER, safe='')}&_count=2",
        "/Observation?patient=H-1",
    ):
        bundle = await get(running, path)
        for relation in ("self", "next"):
            assert "H-" not in str(link(bundle, relation))
        again = await get(running, str(link(bundle, "self")))
        assert again.get("entry") == bundle.get("entry")
        assert again["total"] == bundle["total"]


async def test_a_search_by_post_is_the_same_and_takes_identifiers_in_its_body(
    running: World,
) -> None:
    first, _, _ = await two_people(running)
    body = f"patient.identifier={quote(IDENTIFIER, safe='')}&status=active"
    response = await running.client.post(
        f"{PREFIX}/CarePlan/_search?_count=5", content=body, headers=FORM
    )
    assert (response.status_code, response.headers["content-type"]) == (200, FHIR_JSON)
    by_get = await get(
        running, f"/CarePlan?patient={first['screen']['patient_id']}&status=active&_count=5"
    )
    assert response.json()["entry"] == by_get["entry"]
    pretty = await running.client.post(
        f"{PREFIX}/CarePlan/_search", content=f"{body}&_pretty=true&_count=5", headers=FORM
    )
    assert pretty.content.count(b"\n") > 100
    assert pretty.json() == response.json()
    xml = await running.client.post(
        f"{PREFIX}/CarePlan/_search", content="_format=xml", headers=FORM
    )
    assert (xml.status_code, xml.headers["content-type"]) == (406, FHIR_JSON)
    empty = await running.client.post(f"{PREFIX}/CarePlan/_search")
    assert len(empty.json()["entry"]) == 3
    for kind in ("application/json", "text/plain"):
        refused = await running.client.post(
            f"{PREFIX}/CarePlan/_search", content=body, headers={"Content-Type": kind}
        )
        assert (refused.status_code, refused.headers["content-type"]) == (415, FHIR_JSON)


async def test_pages_hold_everything_once_in_order_though_more_comes_in_meanwhile(
    running: World,
) -> None:
    first, _, _ = await two_people(running)
    patient = first["screen"]["patient_id"]
    come = iter(range(60))
    for query in ("_sort=date", "_sort=-date", "_sort=_lastUpdated", "_sort=-_lastUpdated"):
        there = await found(running, f"/Observation?patient={patient}&_count=500")
        seen: list[Told] = []
        page: str | None = f"/Observation?patient={patient}&{query}&_count=25"
        while page is not None:
            bundle = await get(running, page)
            assert len(matches_of(bundle)) <= 25
            assert bundle["total"] == len(there)
            seen += matches_of(bundle)
            page = link(bundle, "next")
            running.clock.pass_time(timedelta(seconds=1))
            if len(seen) <= len(there):
                await running.post(screen("H-1", f"2026-03-04T0{6 + next(come) % 3}:30:00+00:00"))
        assert set(ids(there)) <= set(ids(seen))
        assert len(set(ids(seen))) == len(seen)
        key = "effectiveDateTime" if query.endswith("date") else "meta"
        times = [one["meta"]["lastUpdated"] if key == "meta" else one[key] for one in seen]
        assert times == sorted(times, reverse="=-" in query)


async def test_everybody_is_searched_page_by_page_without_a_total(running: World) -> None:
    await two_people(running)
    for kind in (*TYPES, "Patient"):
        bundle = await get(running, f"/{kind}?_count=1")
        assert "total" not in bundle
        seen = await found(running, f"/{kind}?_count=1")
        counted = await get(running, f"/{kind}?_count=0")
        assert (counted["total"], "entry" in counted) == (len(seen), False)
        assert (await get(running, f"/{kind}?_summary=count"))["total"] == len(seen)
        assert (await get(running, f"/{kind}?_total=accurate&_count=1"))["total"] == len(seen)
        assert len(set(ids(seen))) == len(seen)
    assert {whose(one) for one in await found(running, "/Observation")} == {
        whose(one) for one in await found(running, "/CarePlan")
    }


async def test_a_total_that_is_not_wanted_is_left_out(running: World) -> None:
    first, _, _ = await two_people(running)
    path = f"/CarePlan?patient={first['screen']['patient_id']}&_total=none"
    assert "total" not in await get(running, path)


async def test_another_organisation_finds_nothing(running: World) -> None:
    first, _, _ = await two_people(running)
    for query in ("", f"?patient={first['screen']['patient_id']}", f"?_id={first['plan']['id']}"):
        response = await running.stranger.get(f"{PREFIX}/CarePlan{query}")
        assert (response.status_code, "entry" in response.json()) == (200, False)


async def test_every_search_is_noted_for_each_patient_shown(running: World) -> None:
    first, _, other = await two_people(running)
    mine, theirs = first["screen"]["patient_id"], other["screen"]["patient_id"]
    for path, patients in (
        (f"/Observation?patient={mine}&_count=1", {mine}),
        (f"/Observation?patient={mine}&code=nothing", {mine}),
        (f"/CarePlan?patient={mine}&status=active", {mine}),
        ("/CarePlan", {mine, theirs}),
        ("/CarePlan?status=draft", {None}),
    ):
        before = len(trail(running))
        await get(running, path)
        kind = path[1:].partition("?")[0].lower()
        told = trail(running)[before:]
        assert set(told) == {(f"{kind}.search", patient) for patient in patients}


async def test_a_merged_patient_is_searched_by_either_id(running: World) -> None:
    first, _, other = await two_people(running)
    gone, stays = other["screen"]["patient_id"], first["screen"]["patient_id"]
    await running.client.post(f"/v1/patients/{gone}/merge", json={"into": stays})
    for patient in (gone, stays):
        assert (await get(running, f"/CarePlan?patient={patient}"))["total"] == 3
    (person,) = await found(running, "/Patient?identifier=H-2")
    assert person["id"] == stays


async def test_bundles_are_what_the_standard_has(running: World) -> None:
    first, _, _ = await two_people(running)
    patient = first["screen"]["patient_id"]
    for path in (
        f"/CarePlan?patient={patient}&_include=CarePlan:patient&_revinclude=Provenance:target",
        f"/Observation?patient={patient}&_count=2&nothing=1",
        "/Patient?identifier=nobody",
    ):
        assert official_faults(await get(running, path)) == []
