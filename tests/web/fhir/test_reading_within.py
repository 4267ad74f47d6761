"""Is a read inside a Bundle answered as the same read outside of one?"""

from datetime import timedelta

from tests.web.fhir.posted import BASE, RESPONSES, bundle, entry, post, response
from tests.web.world import World


async def test_a_read_answers_as_it_does_alone(running: World) -> None:
    await post(running, response())
    for url in ("metadata", "nowhere", "Patient/1?_pretty=true"):
        alone = await running.client.get(f"{BASE}/{url}")
        answer = await post(running, bundle(entry(None, "GET", url), kind="batch"), BASE)
        (told,) = answer.json()["entry"]
        assert told["response"]["status"].startswith(str(alone.status_code))
        whole = told.get("resource") or told["response"]["outcome"]
        assert whole["resourceType"] == alone.json()["resourceType"]


async def test_a_read_is_made_as_the_caller_and_reaches_nothing_of_others(running: World) -> None:
    made = await post(running, response())
    screen_id = made.json()["id"]
    read = bundle(entry(None, "GET", f"QuestionnaireResponse/{screen_id}"), kind="batch")
    mine = await post(running, read, BASE)
    theirs = await running.stranger.post(BASE, json=read)
    alone = await running.client.get(f"{RESPONSES}/{screen_id}")
    (own,) = mine.json()["entry"]
    assert own["response"]["status"].startswith(str(alone.status_code))
    assert theirs.json()["entry"][0]["response"]["status"] == "404 Not Found"


async def test_a_transaction_reads_what_it_wrote(running: World) -> None:
    raw = {**response(), "identifier": {"system": "urn:s", "value": "1"}}
    search = entry(None, "GET", "Patient?identifier=urn%3Aoid%3A2.999.7%7CH-1")
    answer = await post(running, bundle(search, entry(raw, "POST", "QuestionnaireResponse")), BASE)
    found, made = answer.json()["entry"]
    assert made["response"]["status"] == "201 Created"
    alone = await running.client.get(
        f"{BASE}/Patient", params={"identifier": "urn:oid:2.999.7|H-1"}
    )
    assert found["response"]["status"].startswith(str(alone.status_code))
    if alone.status_code == 200:
        assert found["resource"]["total"] == 1


async def test_a_read_holds_to_the_instant_since_which_it_is_asked_for(running: World) -> None:
    name = (await post(running, response())).json()["id"]
    made = running.clock.now
    for since, status in (
        ((made + timedelta(hours=1)).isoformat(), "304 Not Modified"),
        ((made - timedelta(hours=1)).isoformat(), "200 OK"),
        ("0001-01-01T00:00:00+14:00", "200 OK"),
    ):
        asked = {"ifModifiedSince": since}
        one = entry(None, "GET", f"QuestionnaireResponse/{name}", **asked)
        answer = await post(running, bundle(one, kind="batch"), BASE)
        assert [each["response"]["status"] for each in answer.json()["entry"]] == [status]
