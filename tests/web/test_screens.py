"""Are screens recorded, previewed, read, corrected and withdrawn as the interface promises?"""

import asyncio
from datetime import timedelta
from typing import Any

from tests.web.world import FHIR, World, screen


async def count_of_screens(running: World) -> int:
    response = await running.client.get("/v1/screens?since=2000-01-01T00:00:00Z&limit=200")
    return len(response.json()["items"])


async def test_a_recorded_screen_is_answered_with_its_plan_and_its_address(
    running: World,
) -> None:
    response = await running.client.post("/v1/screens", json=screen())
    answer = response.json()
    assert response.status_code == 201
    assert set(answer) == {"screen", "profile", "tests", "plan", "rule_book"}
    assert response.headers["location"] == f"/v1/screens/{answer['screen']['id']}"
    assert response.headers["etag"].startswith('"1.1.current.')
    assert answer["plan"]["state"] == "current"
    assert answer["plan"]["moves"]
    read = await running.client.get(response.headers["location"])
    assert read.json() == answer
    assert read.headers["etag"] == response.headers["etag"]


async def test_decimals_come_back_digit_for_digit(running: World) -> None:
    body = b'{"patient":{"identifier":{"system":"s:x","value":"1"},"age_years":80,"mass_kg":72.50},'
    body += b'"observed_at":"2026-03-04T08:15:00Z","orders":{"precautions":[]},"readiness":{},'
    body += b'"stages":{}}'
    headers = {"Content-Type": "application/json"}
    response = await running.client.post("/v1/screens", content=body, headers=headers)
    assert b'"mass_kg":72.50,' in response.content


async def test_by_accept_the_answer_is_a_fhir_bundle(running: World) -> None:
    response = await running.client.post("/v1/screens", json=screen(), headers=FHIR)
    assert response.status_code == 201
    assert response.headers["content-type"] == "application/fhir+json; fhirVersion=4.0"
    bundle = response.json()
    assert bundle["resourceType"] == "Bundle"
    kinds = {entry["resource"]["resourceType"] for entry in bundle["entry"]}
    assert {"QuestionnaireResponse", "CarePlan", "Observation"} <= kinds
    again = await running.client.get(response.headers["location"], headers=FHIR)
    assert again.json()["entry"] == bundle["entry"]


async def test_a_preview_keeps_nothing(running: World) -> None:
    response = await running.client.post("/v1/screens/preview", json=screen())
    assert response.status_code == 200
    assert response.json()["screen"]["patient_id"] == ""
    assert await count_of_screens(running) == 0
    as_fhir = await running.client.post("/v1/screens/preview", json=screen(), headers=FHIR)
    assert as_fhir.json()["resourceType"] == "Bundle"


async def test_a_screen_without_sense_is_refused_and_nothing_is_kept(running: World) -> None:
    body = screen()
    body["patient"]["age_years"] = 12
    body["stages"]["timed_stand"] = {"ended_by": "pain"}
    response = await running.client.post("/v1/screens", json=body)
    assert response.status_code == 422
    assert [fault["rule"] for fault in response.json()["faults"]] == [
        "sense.adults_only",
        "sense.end_without_seconds",
    ]
    assert await count_of_screens(running) == 0


async def test_a_repeated_key_and_body_give_the_same_answer_once_more(running: World) -> None:
    key = {"Idempotency-Key": "k-1"}
    first = await running.client.post("/v1/screens", json=screen(), headers=key)
    again = await running.client.post("/v1/screens", json=screen(), headers=key)
    assert (again.status_code, again.json()) == (201, first.json())
    assert again.headers["location"] == first.headers["location"]
    assert again.headers["idempotency-replayed"] == "true"
    assert "idempotency-replayed" not in first.headers
    assert await count_of_screens(running) == 1


async def test_a_repeated_key_is_known_by_the_value_not_by_the_bytes(running: World) -> None:
    key = {"Idempotency-Key": "k-1", "Content-Type": "application/json"}
    await running.client.post("/v1/screens", json=screen(), headers=key)
    spaced = await running.client.post("/v1/screens", json=screen(), headers=key)
    assert spaced.headers["idempotency-replayed"] == "true"


async def test_a_key_used_with_another_body_is_refused(running: World) -> None:
    key = {"Idempotency-Key": "k-1"}
    await running.client.post("/v1/screens", json=screen(), headers=key)
    other = await running.client.post("/v1/screens", json=screen("H-2"), headers=key)
    assert other.status_code == 422
    assert await count_of_screens(running) == 1


async def test_eight_posts_at_once_with_one_key_make_one_screen(running: World) -> None:
    key = {"Idempotency-Key": "k-1"}
    responses = await asyncio.gather(
        *(running.client.post("/v1/screens", json=screen(), headers=key) for _ in range(8))
    )
    assert {response.status_code for response in responses} <= {201, 409}
    ids = {r.json()["screen"]["id"] for r in responses if r.status_code == 201}
    assert len(ids) == 1
    assert await count_of_screens(running) == 1


async def test_a_key_that_is_no_word_is_a_bad_request(running: World) -> None:
    for key in ("", "x" * 256, "a\tb"):
        headers = {"Idempotency-Key": key}
        response = await running.client.post("/v1/screens", json=screen(), headers=headers)
        assert response.status_code == 400


async def test_a_correction_needs_the_version_it_corrects(running: World) -> None:
    kept = await running.post(screen())
    address = f"/v1/screens/{kept['screen']['id']}"
    body = {**screen(), "correction_reason": "Mistyped."}
    missing = await running.client.put(address, json=body)
    assert missing.status_code == 428
    stale = await running.client.put(address, json=body, headers={"If-Match": '"7"'})
    assert stale.status_code == 412
    weak = await running.client.put(address, json=body, headers={"If-Match": 'W/"1"'})
    assert weak.status_code == 412


async def test_a_correction_makes_a_new_version_and_a_new_plan(running: World) -> None:
    first = await running.client.post("/v1/screens", json=screen())
    address, kept = first.headers["location"], first.json()
    body = {**screen(), "correction_reason": "The rise was not achieved."}
    body["stages"]["rise"] = {"outcome": "not_achieved"}
    headers = {"If-Match": first.headers["etag"]}
    corrected = await running.client.put(address, json=body, headers=headers)
    answer = corrected.json()
    assert corrected.status_code == 200
    assert (answer["screen"]["version"], answer["screen"]["status"]) == (2, "amended")
    assert answer["screen"]["correction_reason"] == "The rise was not achieved."
    assert answer["plan"]["replaces"] == kept["plan"]["id"]
    before = await running.client.get(f"{address}?version=1")
    assert before.json()["screen"]["content"] == kept["screen"]["content"]
    late = await running.client.put(address, json=body, headers=headers)
    assert late.status_code == 412


async def test_of_two_corrections_at_once_one_wins(running: World) -> None:
    first = await running.client.post("/v1/screens", json=screen())
    body = {**screen(), "correction_reason": "Mistyped."}
    headers = {"If-Match": first.headers["etag"]}
    address = first.headers["location"]
    both = await asyncio.gather(
        *(running.client.put(address, json=body, headers=headers) for _ in range(2))
    )
    assert sorted(response.status_code for response in both) == [200, 412]


async def test_a_withdrawn_screen_is_kept_and_marked(running: World) -> None:
    kept = await running.post(screen())
    address = f"/v1/screens/{kept['screen']['id']}"
    response = await running.client.post(f"{address}/withdraw", json={"reason": "Wrong bed."})
    assert response.status_code == 200
    assert response.json()["screen"]["status"] == "withdrawn"
    read = await running.client.get(address)
    assert read.json()["screen"]["status"] == "withdrawn"
    assert read.json()["plan"]["state"] == "withdrawn"


async def test_a_withdrawal_may_name_the_version_it_means(running: World) -> None:
    kept = await running.post(screen())
    address = f"/v1/screens/{kept['screen']['id']}/withdraw"
    reason = {"reason": "Wrong bed."}
    stale = await running.client.post(address, json=reason, headers={"If-Match": '"9"'})
    assert stale.status_code == 412
    good = await running.client.post(address, json=reason, headers={"If-Match": '"1"'})
    assert good.status_code == 200


async def test_a_screen_held_already_is_not_sent_again_until_its_plan_lapses(
    running: World,
) -> None:
    first = await running.client.post("/v1/screens", json=screen())
    address, tag = first.headers["location"], first.headers["etag"]
    held = await running.client.get(address, headers={"If-None-Match": tag})
    assert (held.status_code, held.content) == (304, b"")
    assert held.headers["etag"] == tag
    running.clock.pass_time(timedelta(days=60))
    lapsed = await running.client.get(address, headers={"If-None-Match": tag})
    assert lapsed.status_code == 200
    assert lapsed.json()["plan"]["state"] == "lapsed"


async def test_the_feed_gives_every_screen_once_over_its_pages(running: World) -> None:
    kept = [await running.post(screen(f"H-{number}")) for number in range(5)]
    address: str | None = "/v1/screens?since=2026-03-04T00:00:00Z&limit=2"
    seen: list[Any] = []
    while address is not None:
        page = (await running.client.get(address)).json()
        assert len(page["items"]) <= 2
        seen.extend(item["id"] for item in page["items"])
        address = page["next"]
        assert address is None or address.startswith("/v1/screens?")
    assert seen == [answer["screen"]["id"] for answer in kept]
    after = await running.client.get("/v1/screens?since=2026-03-05T00:00:00Z")
    assert after.json() == {"items": [], "next": None}


async def test_the_feed_is_given_as_fhir_too(running: World) -> None:
    await running.post(screen())
    await running.post(screen())
    address = "/v1/screens?since=0001-01-01T00:00:00%2B14:00&limit=1"
    bundle = (await running.client.get(address, headers=FHIR)).json()
    assert bundle["resourceType"] == "Bundle"
    assert [entry["resource"]["resourceType"] for entry in bundle["entry"]] == [
        "QuestionnaireResponse"
    ]
    assert [link["relation"] for link in bundle["link"]] == ["next"]


async def test_another_organisation_sees_nothing(running: World) -> None:
    kept = await running.post(screen())
    address = f"/v1/screens/{kept['screen']['id']}"
    assert (await running.stranger.get(address)).status_code == 404
    body = {**screen(), "correction_reason": "x"}
    put = await running.stranger.put(address, json=body, headers={"If-Match": '"1"'})
    assert put.status_code == 404
    taken = await running.stranger.post(f"{address}/withdraw", json={"reason": "x"})
    assert taken.status_code == 404
    feed = await running.stranger.get("/v1/screens?since=2000-01-01T00:00:00Z")
    assert feed.json()["items"] == []
    assert (await running.client.get(address)).json()["screen"]["status"] == "final"
