"""What does one organisation hold that another one must never see a byte of?"""

from collections.abc import Iterator
from typing import Any

import httpx
from msgspec import Struct

from tests.web.world import FHIR, World, screen

OF_THE_SERVICE = {"Device"}
NAME, PLACE, SOURCE, NUMBER = "Zwyxilandra", "quorl_ward/77", "source-90417", "H-90417"


class Foreign(Struct):
    """``ids``: of each thing by the name of its path parameter; ``resources``: what it holds as
    FHIR, by type."""

    ids: dict[str, str]
    resources: dict[str, list[dict[str, Any]]]

    def marks(self) -> Iterator[str]:
        """Whatever is nowhere but in that organisation's record."""
        yield from (NAME, PLACE, SOURCE, NUMBER)
        yield from self.ids.values()
        for kind in self.resources:
            yield from self.ids_of(kind)

    def ids_of(self, kind: str) -> list[str]:
        """The ids of its resources of a type; those of the service's own making are no secret."""
        return [one["id"] for one in self.resources.get(kind, []) if kind not in OF_THE_SERVICE]

    def seen_in(self, response: httpx.Response, sent: str = "") -> set[str]:
        """The marks in the body or the headers, but for those that the request sent itself."""
        told = response.text + str(response.headers.raw)
        return {mark for mark in self.marks() if mark in told and mark not in sent}


def body() -> dict[str, Any]:
    """A screen full of marks."""
    one = screen(NUMBER)
    one["patient"]["name"] = {"family": NAME, "given": NAME}
    return one | {"location": PLACE, "source_id": SOURCE}


async def recorded(running: World) -> Foreign:
    """The first organisation records two screens of a patient; what it then holds."""
    await running.post(screen(NUMBER, "2026-03-04T07:00:00+00:00"))
    posted = await running.client.post("/v1/screens", json=body(), headers=FHIR)
    assert posted.status_code == 201, posted.text
    screen_id = posted.headers["location"].rpartition("/")[2]
    native = (await running.client.get(f"/v1/screens/{screen_id}")).json()
    ids = {
        "screen_id": screen_id,
        "patient_id": native["screen"]["patient_id"],
        "plan_id": native["plan"]["id"],
    }
    resources: dict[str, list[dict[str, Any]]] = {}
    for entry in posted.json()["entry"]:
        one = entry["resource"]
        if one["resourceType"] != "OperationOutcome":
            resources.setdefault(one["resourceType"], []).append(one)
    return Foreign(ids, resources)
