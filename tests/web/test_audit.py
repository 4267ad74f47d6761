"""Is the audit trail followed as plain JSON, entry by entry, with none lost and none twice?"""

from datetime import datetime, timedelta
from typing import Any

from service.application.read_trail import SETTLED
from service.storage.keys import create_key, list_keys
from tests.web.world import World, client_of, screen

FEED = "/v1/audit?since=2000-01-01T00:00:00Z"


async def followed(running: World, path: str = FEED) -> list[dict[str, Any]]:
    """Page after page."""
    found: list[dict[str, Any]] = []
    next_page: str | None = path
    while next_page is not None:
        answer = await running.client.get(next_page)
        assert answer.status_code == 200, answer.text
        found += answer.json()["items"]
        next_page = answer.json()["next"]
    return found


async def test_every_entry_comes_once_and_oldest_first(running: World) -> None:
    for n in range(5):
        await running.post(screen(f"H-{n}"))
    running.clock.pass_time(SETTLED + timedelta(seconds=1))
    found = await followed(running, f"{FEED}&limit=2")
    assert [one["action"] for one in found].count("screen.record") == 5
    assert len({one["id"] for one in found}) == len(found)
    times = [datetime.fromisoformat(one["at"]) for one in found]
    assert times == sorted(times)


async def test_an_entry_has_its_parts_and_no_other(running: World) -> None:
    made = await running.post(screen(), X_Request_Id="request-7")
    running.clock.pass_time(SETTLED + timedelta(seconds=1))
    (one,) = [one for one in await followed(running) if one["action"] == "screen.record"]
    (ward,) = [key for key in list_keys(running.database) if key.name == "ward"]
    assert one == {
        "id": "1-1",
        "at": one["at"],
        "action": "screen.record",
        "outcome": "ok",
        "credential": ward.id,
        "name": "ward",
        "request_id": "request-7",
        "patient": made["screen"]["patient_id"],
        "target": made["screen"]["id"],
    }


async def test_what_may_still_be_overtaken_is_not_told_yet(running: World) -> None:
    await running.post(screen())
    assert await followed(running) == []
    running.clock.pass_time(SETTLED + timedelta(seconds=1))
    found = [one["action"] for one in await followed(running)]
    assert (found.count("screen.record"), found.count("audit.list")) == (1, 1)
    running.clock.pass_time(SETTLED + timedelta(seconds=1))
    found = [one["action"] for one in await followed(running)]
    assert (found.count("screen.record"), found.count("audit.list")) == (1, 2)


async def test_the_feed_begins_at_the_time_that_is_asked_for(running: World) -> None:
    await running.post(screen("H-1"))
    running.clock.pass_time(timedelta(hours=1))
    since = running.clock.now.isoformat().replace("+00:00", "Z")
    await running.post(screen("H-2"))
    running.clock.pass_time(timedelta(hours=1))
    found = await followed(running, f"/v1/audit?since={since}")
    assert [one["action"] for one in found] == ["screen.record"]


async def test_a_key_without_the_scope_by_name_follows_nothing(running: World) -> None:
    (org,) = {key.org for key in list_keys(running.database) if key.name == "ward"}
    made = create_key(running.database, running.clock, org, "bedside")
    async with client_of(running.app, made.key) as bedside:
        assert (await bedside.get(FEED)).status_code == 403


async def test_one_organisation_follows_its_own_trail_alone(running: World) -> None:
    made = await running.stranger.post("/v1/screens", json=screen())
    running.clock.pass_time(SETTLED + timedelta(seconds=1))
    assert made.json()["screen"]["patient_id"] not in str(await followed(running))


async def test_what_cannot_be_asked_is_refused(running: World) -> None:
    for path in ("/v1/audit", f"{FEED}&limit=0", f"{FEED}&patient=x", f"{FEED}&cursor=x"):
        assert (await running.client.get(path)).status_code in (400, 422)
