"""Who may see the trail, whose is it, and is every event in it valid?"""

from collections.abc import AsyncIterator

import httpx
import pytest

from service.storage.keys import create_key, list_keys
from service.web.fhir.content import PREFIX
from tests.fhir.validators import form_faults, official_faults, parse_faults
from tests.storage.made import sql_of
from tests.web.fhir.office import SCOPE, Office, of_patient, office_in, said
from tests.web.fhir.served import matches_of
from tests.web.world import World, client_of, screen


@pytest.fixture
async def office(running: World) -> AsyncIterator[Office]:
    async with office_in(running) as one:
        yield one


async def test_only_whoever_has_the_scope_by_name_reads_the_trail(running: World) -> None:
    """The key of a ward's system may do everything with the record, and see no trail of it."""
    (org,) = {key.org for key in list_keys(running.database) if key.name == "ward"}
    made = create_key(running.database, running.clock, org, "bedside")
    async with client_of(running.app, made.key) as bedside:
        for path in ("/AuditEvent", "/AuditEvent/1-1"):
            assert (await bedside.get(PREFIX + path)).status_code == 403
            assert (await running.nobody.get(PREFIX + path)).status_code == 401


async def test_one_organisation_s_trail_is_no_other_s(office: Office) -> None:
    running = office.running
    made = await running.stranger.post("/v1/screens", json=screen("H-9"))
    theirs = made.json()["screen"]["patient_id"]
    await running.post(screen("H-1"))
    assert theirs not in str(await office.found())
    assert await office.found(f"patient={theirs}&action=C") == []
    (org,) = {key.org for key in list_keys(running.database) if key.name == "other"}
    key = create_key(running.database, running.clock, org, "theirs", scopes=[SCOPE]).key
    async with client_of(running.app, key) as client:
        bundle = (await client.get(f"{PREFIX}/AuditEvent?_count=200")).json()
    names = {one["agent"][0]["name"] for one in matches_of(bundle)}
    assert names == {"other", "command line"}


async def test_an_erased_patient_s_entries_are_still_found(office: Office) -> None:
    """Nobody is known by the id any more; the trail still says who saw what was there."""
    made = await office.running.post(screen())
    patient = made["screen"]["patient_id"]
    for table in ("patient", "patient_id"):
        sql_of(office.running.database, f"DELETE FROM {table}")  # noqa: S608
    assert [said(one) for one in await office.found(f"patient={patient}")] == ["screen.record: ok"]
    (newest,) = matches_of(await office.search("_count=1"))
    assert (said(newest), of_patient(newest)) == ("auditevent.search: ok", [patient])


async def test_what_was_sent_for_an_id_is_not_noted_where_nobody_has_it(office: Office) -> None:
    assert await office.found("patient=MRN-4711") == []
    (newest,) = matches_of(await office.search("_count=1"))
    assert (said(newest), of_patient(newest)) == ("auditevent.search: ok", [])


async def test_every_event_of_a_busy_day_is_valid(office: Office) -> None:
    made = await office.running.post(screen())
    one, plan = made["screen"]["id"], made["plan"]["id"]
    patient = made["screen"]["patient_id"]
    for path in (
        f"/v1/plans/{plan}",
        f"{PREFIX}/CarePlan/{plan}/_history",
        f"{PREFIX}/CarePlan/{plan}/_history/1",
        f"{PREFIX}/Flag?patient={patient}",
        f"{PREFIX}/AuditEvent",
        "/v1/plans/nothing",
        f"{PREFIX}/Goal/nothing",
    ):
        await office.running.client.get(path)
    await office.running.client.post(f"/v1/screens/{one}/withdraw", json={"reason": "Wrong."})
    events = await office.found()
    assert len(events) > 10
    for event in events:
        raw = httpx.Response(200, json=event).content
        assert official_faults(event) + form_faults(raw) + parse_faults(raw) == []


async def test_a_summary_leaves_out_what_is_not_of_it(office: Office) -> None:
    await office.running.post(screen())
    (event,) = matches_of(await office.search("_summary=true&action=C&subtype=create"))
    assert "text" not in event
    assert event["recorded"]
