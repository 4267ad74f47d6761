"""How does a test ask the FHIR interface, and what does it take from the answer?"""

from typing import Any

import httpx

from service.web.fhir.content import PREFIX
from tests.web.world import World, screen

FHIR_JSON = "application/fhir+json; fhirVersion=4.0"
FORM = {"Content-Type": "application/x-www-form-urlencoded"}
IDENTIFIER = "urn:oid:2.999.7|H-1"
Told = dict[str, Any]


EARLY, LATE = "2026-03-04T07:00:00+00:00", "2026-03-04T08:15:00+00:00"


async def two_people(running: World) -> tuple[Told, Told, Told]:
    """Two screens of one person, the earlier one first, and one of another."""
    return (
        await running.post(screen("H-1", EARLY)),
        await running.post(screen("H-1", LATE)),
        await running.post(screen("H-2", "2026-03-04T07:30:00+00:00")),
    )


async def get(running: World, path: str, status: int = 200, **headers: str) -> Told:
    """The resource at ``path`` below the base, or at a whole address."""
    sent = {name.replace("_", "-"): value for name, value in headers.items()}
    address = path if path.startswith("http") else PREFIX + path
    response = await running.client.get(address, headers=sent)
    assert response.status_code == status, response.text
    assert response.headers["content-type"] == FHIR_JSON
    told: Told = response.json()
    return told


async def found(running: World, path: str) -> list[Told]:
    """The matches of a search, page after page."""
    matches: list[Told] = []
    next_page: str | None = path
    while next_page is not None:
        bundle = await get(running, next_page)
        matches += matches_of(bundle)
        next_page = link(bundle, "next")
    return matches


def matches_of(bundle: Told, mode: str = "match") -> list[Told]:
    entries = bundle.get("entry", [])
    return [entry["resource"] for entry in entries if entry["search"]["mode"] == mode]


def link(bundle: Told, relation: str) -> str | None:
    return next((one["url"] for one in bundle["link"] if one["relation"] == relation), None)


def ids(resources: list[Told]) -> list[str]:
    return [one["id"] for one in resources]


def faults(outcome: Told) -> list[tuple[str, str]]:
    """The code of each issue and where it is."""
    assert outcome["resourceType"] == "OperationOutcome"
    return [(one["code"], one.get("expression", [""])[0]) for one in outcome["issue"]]


async def corrected(running: World, answer: Told, **changes: Any) -> Told:
    """The screen of ``answer`` with other content; the new answer."""
    before = answer["screen"]
    body = {**screen(before["content"]["patient"]["identifier"]["value"]), **changes}
    response = await running.client.put(
        f"/v1/screens/{before['id']}",
        json={**body, "correction_reason": "The wrong leg."},
        headers={"If-Match": f'"{before["version"]}"'},
    )
    assert response.status_code == 200, response.text
    told: Told = response.json()
    return told


async def withdrawn(running: World, answer: Told) -> httpx.Response:
    address = f"/v1/screens/{answer['screen']['id']}/withdraw"
    response = await running.client.post(address, json={"reason": "The wrong person."})
    assert response.status_code == 200, response.text
    return response
