"""Is the audit trail read and searched over FHIR, by whom it may be, and is that noted too?"""

from collections.abc import AsyncIterator
from datetime import datetime, timedelta

import pytest

from service.application import read_trail
from service.storage import trail
from service.storage.keys import list_keys
from service.web.fhir.content import PREFIX
from tests.web.fhir.office import Office, of_patient, office_in, said
from tests.web.fhir.served import FORM, link, matches_of
from tests.web.world import World, screen


@pytest.fixture
async def office(running: World) -> AsyncIterator[Office]:
    async with office_in(running) as one:
        yield one


async def test_an_event_says_who_did_what_to_whom_and_what_came_of_it(office: Office) -> None:
    made = await office.running.post(screen(), X_Request_Id="request-7")
    (event,) = await office.found("action=C&subtype=create")
    one, patient = made["screen"]["id"], made["screen"]["patient_id"]
    assert event["type"]["code"] == "rest"
    assert (event["action"], event["outcome"], event["outcomeDesc"]) == ("C", "0", "ok")
    (agent,) = event["agent"]
    (ward,) = [key for key in list_keys(office.running.database) if key.name == "ward"]
    assert agent["who"]["identifier"]["value"] == agent["altId"] == ward.id
    assert (agent["name"], agent["requestor"]) == ("ward", True)
    what = [entity["what"] for entity in event["entity"]]
    assert [each.get("reference") for each in what] == [
        f"Patient/{patient}",
        f"QuestionnaireResponse/{one}",
        None,
    ]
    assert what[2]["identifier"]["value"] == "request-7"
    assert event["source"]["observer"]["identifier"]["value"] == "http://testserver/fhir/R4"


async def test_one_event_is_read_by_its_id_and_never_changes(office: Office) -> None:
    await office.running.post(screen())
    (event,) = await office.found("action=C&subtype=create")
    address = f"{PREFIX}/AuditEvent/{event['id']}"
    read = await office.client.get(address)
    assert read.status_code == 200
    assert read.json() == event
    held = await office.client.get(address, headers={"If-None-Match": read.headers["etag"]})
    assert held.status_code == 304
    missing = await office.client.get(f"{PREFIX}/AuditEvent/1-999999")
    assert missing.status_code == 404
    assert missing.json()["resourceType"] == "OperationOutcome"


async def test_reading_the_trail_is_in_the_trail(office: Office) -> None:
    made = await office.running.post(screen())
    patient = made["screen"]["patient_id"]
    (event,) = await office.found("action=C&subtype=create")
    await office.client.get(f"{PREFIX}/AuditEvent/{event['id']}")
    await office.client.get(f"{PREFIX}/AuditEvent/9-9")
    await office.search(f"patient={patient}")
    newest = (await office.found())[:4]
    assert [(said(one), one["agent"][0]["name"], of_patient(one)) for one in newest] == [
        ("auditevent.search: ok", "privacy", [patient]),
        ("auditevent.read: not_found", "privacy", []),
        ("auditevent.read: ok", "privacy", [patient]),
        ("auditevent.search: ok", "privacy", []),
    ]


async def test_the_newest_come_first_and_pages_are_stable_while_more_is_noted(
    office: Office,
) -> None:
    for n in range(6):
        await office.running.post(screen(f"H-{n}"))
    everything = await office.found("_count=200")
    first = await office.search("_count=3")
    events = matches_of(first)
    address = link(first, "next")
    while address is not None:
        await office.running.post(screen("H-0", "2026-03-04T08:20:00+00:00"))
        bundle = (await office.client.get(address)).json()
        events += matches_of(bundle)
        address = link(bundle, "next")
    ids = [one["id"] for one in events]
    assert len(set(ids)) == len(ids)
    known = [one["id"] for one in everything]
    assert [one for one in ids if one in known] == known
    times = [datetime.fromisoformat(one["recorded"]) for one in everything]
    assert times == sorted(times, reverse=True)
    oldest = await office.found("_sort=date&_count=200")
    assert [one["id"] for one in oldest][: len(known)] == known[::-1]


async def test_each_condition_narrows_what_is_found(office: Office) -> None:
    first = await office.running.post(screen("H-1"))
    patient, one = first["screen"]["patient_id"], first["screen"]["id"]
    office.running.clock.pass_time(timedelta(hours=2))
    await office.running.post(screen("H-2"))
    await office.running.client.get(f"/v1/screens/{one}")
    await office.running.client.get(f"/v1/screens/{patient}")
    (ward,) = [key for key in list_keys(office.running.database) if key.name == "ward"]

    async def heard(query: str) -> list[str]:
        return [said(event) for event in await office.found(query)][::-1]

    mine = ["screen.record: ok", "screen.read: ok"]
    for whose in (f"patient={patient}", f"entity=Patient/{patient}"):
        assert (await heard(whose))[:2] == mine
    by_number = "patient:identifier=urn:oid:2.999.7%7CH-1"
    assert (await heard(f"{by_number}&agent=%7C{ward.id}"))[:2] == mine
    assert await heard(f"entity=QuestionnaireResponse/{one}") == mine
    assert await heard(f"altid={ward.id}&action=C") == ["screen.record: ok"] * 2
    assert await heard(f"agent:identifier={ward.id}&action=R&outcome=0") == ["screen.read: ok"]
    assert await heard(f"agent={ward.id}&outcome=4") == ["screen.read: not_found"]
    rest = "http://terminology.hl7.org/CodeSystem/audit-event-type%7Crest"
    assert await heard(f"type={rest}&subtype=read&altid={ward.id}&outcome:not=4") == mine[1:]
    now = office.running.clock.now.isoformat().replace("+00:00", "Z")
    assert await heard(f"date=lt{now}&action=C&altid={ward.id}") == ["screen.record: ok"]
    assert await heard(f"_lastUpdated=ge{now}&action=C&altid={ward.id}") == ["screen.record: ok"]
    assert await heard("patient=nobody&action=R") == []
    ids = [event["id"] for event in await office.found(f"altid={ward.id}&action=C")]
    assert [one["id"] for one in await office.found(f"_id={','.join(ids)},9-9")] == ids


async def test_a_count_is_told_alone_where_it_is_asked_for(office: Office) -> None:
    for n in range(3):
        await office.running.post(screen(f"H-{n}"))
    told = await office.search("_count=0&action=C&subtype=create")
    assert (told["total"], told.get("entry")) == (3, None)
    page = await office.search("_total=accurate&_count=2&action=C&subtype=create")
    assert (page["total"], len(matches_of(page))) == (3, 2)
    assert "total" not in await office.search("_count=2&action=C&subtype=create")


async def test_what_is_rare_in_a_long_trail_comes_by_short_pages(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(trail, "WINDOW", 2)
    monkeypatch.setattr(read_trail, "MOST_STRETCHES", 1)
    rare = (await office.running.post(screen("H-1")))["screen"]["patient_id"]
    for n in range(5):
        await office.running.post(screen(f"N-{n}"))
    assert matches_of(await office.search(f"patient={rare}")) == []
    assert "screen.record: ok" in [said(one) for one in await office.found(f"patient={rare}")]
    assert "total" not in await office.search(f"patient={rare}&_total=accurate")
    refused = await office.search("_count=0", 400)
    assert "too many" in str(refused)


async def test_a_search_by_post_finds_the_same(office: Office) -> None:
    await office.running.post(screen())
    posted = await office.client.post(
        f"{PREFIX}/AuditEvent/_search", content="action=C&subtype=create", headers=FORM
    )
    assert [said(one) for one in matches_of(posted.json())] == ["screen.record: ok"]


@pytest.mark.parametrize(
    "query",
    ["date=x", "_cursor=x", "_cursor=WyJhIiwxXQ", "_sort=agent", "patient:identifier=urn:x%7C"],
)
async def test_what_cannot_be_asked_is_refused(office: Office, query: str) -> None:
    assert (await office.search(query, 400))["resourceType"] == "OperationOutcome"
