"""Is the part of a resource given that a read, a version or a history asks for?"""

import pytest

from service.web.fhir.content import PREFIX
from tests.fhir.validators import official_faults
from tests.web.fhir.served import Told, faults, get
from tests.web.fhir.test_read import addresses, device_of
from tests.web.world import World, screen

SUBSETTED = "SUBSETTED"
NO_NARRATIVE = "invariant.dom-6"
"""A warning, and what was asked for."""


def tags(resource: Told) -> list[str]:
    return [one["code"] for one in resource["meta"].get("tag", [])]


@pytest.mark.parametrize("summary", ["true", "text", "data"])
async def test_every_type_is_read_in_part_and_marked_so(running: World, summary: str) -> None:
    answer = await running.post(screen())
    for kind, name in addresses(answer, await device_of(running)).items():
        whole = await get(running, f"/{kind}/{name}")
        for place in (f"/{kind}/{name}", f"/{kind}/{name}/_history/{whole['meta']['versionId']}"):
            part = await get(running, f"{place}?_summary={summary}")
            assert tags(part) == [SUBSETTED]
            assert part["id"] == name
            assert ("text" in part) == (summary == "text" and "text" in whole)
            told = [one for one in official_faults(part) if NO_NARRATIVE not in one]
            assert told == [], kind
            rest = {key: value for key, value in part.items() if key != "meta"}
            assert rest.items() <= whole.items(), kind
            if summary == "data":
                assert rest.keys() == whole.keys() - {"text", "meta"}


async def test_named_elements_are_given_with_what_is_required(running: World) -> None:
    plan = (await running.post(screen()))["plan"]["id"]
    part = await get(running, f"/CarePlan/{plan}?_elements=period,description")
    assert part.keys() == {
        "resourceType", "id", "meta", "status", "intent", "subject", "period", "description",
    }  # fmt: skip
    assert tags(part) == [SUBSETTED]


async def test_the_whole_and_the_part_have_one_version_and_are_held_by_it(running: World) -> None:
    plan = (await running.post(screen()))["plan"]["id"]
    whole = await running.client.get(f"{PREFIX}/CarePlan/{plan}")
    part = await running.client.get(f"{PREFIX}/CarePlan/{plan}?_summary=true")
    assert part.headers["etag"] == whole.headers["etag"]
    assert len(part.content) < len(whole.content)
    held = {"If-None-Match": part.headers["etag"]}
    again = await running.client.get(f"{PREFIX}/CarePlan/{plan}?_summary=true", headers=held)
    assert (again.status_code, again.content) == (304, b"")
    head = await running.client.head(f"{PREFIX}/CarePlan/{plan}?_summary=true")
    assert head.headers["content-length"] == part.headers["content-length"]


async def test_a_history_is_listed_in_part_and_its_links_say_so(running: World) -> None:
    plan = (await running.post(screen()))["plan"]["id"]
    await running.post(screen())
    bundle = await get(running, f"/CarePlan/{plan}/_history?_summary=true&_count=1")
    (entry,) = bundle["entry"]
    assert tags(entry["resource"]) == [SUBSETTED]
    assert "activity" not in entry["resource"]
    assert {one["relation"] for one in bundle["link"]} == {"self", "next"}
    assert all("_summary=true" in one["url"] for one in bundle["link"])


async def test_nothing_is_shown_or_noted_where_the_part_cannot_be(running: World) -> None:
    plan = (await running.post(screen()))["plan"]["id"]
    for place in (f"/CarePlan/{plan}", f"/CarePlan/{plan}/_history", "/AuditEvent/1-1"):
        for query, name in (
            ("_summary=count", "_summary"),
            ("_summary=much", "_summary"),
            ("_elements=nothing", "_elements"),
            ("_elements=", "_elements"),
        ):
            outcome = await get(running, f"{place}?{query}", 400)
            assert faults(outcome) == [("value", f"http.{name}")], place


async def test_an_entry_of_the_trail_is_read_in_part(running: World) -> None:
    await running.post(screen())
    bundle = await get(running, "/AuditEvent?_count=1")
    name = bundle["entry"][0]["resource"]["id"]
    part = await get(running, f"/AuditEvent/{name}?_elements=outcome")
    assert tags(part) == [SUBSETTED]
    assert {"type", "recorded", "agent", "source", "outcome"} <= part.keys()
