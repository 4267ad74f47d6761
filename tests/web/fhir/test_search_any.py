"""Is any search at all answered or refused as it should be, and does its own link repeat it?"""

import random
from urllib.parse import quote

from service.fhir.search_parameters import PARAMETERS
from service.web.fhir.content import PREFIX
from tests.web.fhir.served import FHIR_JSON, FORM, Told, link, two_people
from tests.web.world import World

SEARCHES = 150
NAMES = (
    "patient", "subject", "identifier", "_id", "_lastUpdated", "code", "category", "date",
    "status", "authored", "target", "lifecycle-status", "patient.identifier",
    "patient:identifier", "patient:Patient", "code:not", "status:not", "_count", "_sort",
    "_total", "_summary", "_elements", "_include", "_revinclude", "_cursor", "_format",
    "_pretty", "encounter", "", "_has:X:y:z", "date:missing",
)  # fmt: skip
VALUES = (
    "", "x", "a|b", "|", "||", "\\", "\\,", "a,b,,", "é", "\0", "2026", "ge2026-03-04", "9999",
    "0001-01-01", "ap9999-12-31", "eq2026-03-04T08:15:00+14:00", "ne2026", "count", "true", "text",
    "data", "0", "1", "3", "500", "-1", "99999999999", "date", "-date", "_lastUpdated",
    "-_lastUpdated", "Observation:patient", "Provenance:target", "CarePlan:patient", "id,meta",
    "urn:oid:2.999.7|H-1", "%", "WyJhIiwiYiIsImMiLG51bGxd", "x" * 300, "final", "active",
    "|final", "json", "xml",
)  # fmt: skip


def told(bundle: Told) -> list[str | None]:
    """The ids in it; what was left out is told by the first page alone."""
    entries = bundle.get("entry", [])
    return [one["resource"].get("id") for one in entries if one["search"]["mode"] != "outcome"]


async def test_any_search_gives_a_bundle_that_repeats_itself_or_an_outcome(
    running: World,
) -> None:
    first, _, _ = await two_people(running)
    patient, plan = first["screen"]["patient_id"], first["plan"]["id"]
    values = (*VALUES, patient, plan, f"Patient/{patient}", f"CarePlan/{plan}")
    draw = random.Random(20260304)  # noqa: S311 - drawn again alike
    answered = 0
    for _ in range(SEARCHES):
        kind = draw.choice(list(PARAMETERS))
        query = "&".join(
            f"{quote(draw.choice(NAMES), safe='')}={quote(draw.choice(values), safe='')}"
            for _ in range(draw.randint(0, 3))
        )
        if draw.random() < 0.3:
            address = f"{PREFIX}/{kind}/_search"
            response = await running.client.post(address, content=query, headers=FORM)
        else:
            response = await running.client.get(f"{PREFIX}/{kind}?{query}")
        assert response.status_code in (200, 400, 406), (kind, query)
        assert response.headers["content-type"] == FHIR_JSON
        if response.status_code != 200:
            assert response.json()["resourceType"] == "OperationOutcome"
            continue
        answered += 1
        again = await running.client.get(str(link(response.json(), "self")))
        assert told(again.json()) == told(response.json()), (kind, query)
        following = link(response.json(), "next")
        if following is not None:
            assert (await running.client.get(following)).status_code == 200
    assert answered > SEARCHES // 4
