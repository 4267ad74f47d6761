"""How does a test overrule a plan or end it early, and what does it read of that?"""

from datetime import timedelta

from msgspec.json import encode

from service.fhir.validate import read_tree
from service.fhir.validate_ours import known_at
from tests.fhir.answers import SITE
from tests.fhir.broken import faults as our_faults
from tests.fhir.definitions.loaded import package_faults
from tests.fhir.own_checks import resource_faults
from tests.fhir.validators import form_faults, parse_faults
from tests.web.fhir.served import Told, get
from tests.web.world import World

BY = {"identifier": {"system": "urn:oid:2.999.9", "value": "S-77"}, "role": "ward physician"}
MOVE, LIFT = "bed_to_chair", "powered_stand_lift"
KNOWN = known_at(SITE)


async def overruled(running: World, plan: Told, method: str, status: int = 200) -> Told:
    """``plan`` as it is once ``method`` was chosen for getting from bed to chair, a minute on."""
    running.clock.pass_time(timedelta(minutes=1))
    response = await running.client.post(
        f"/v1/plans/{plan['id']}/overrule",
        json={"move": MOVE, "method": method, "reason": "Saw it today.", "by": BY},
        headers={"If-Match": f'"{plan["version"]}"'},
    )
    assert response.status_code == status, response.text
    told: Told = response.json()
    return told


async def ended(running: World, plan: Told) -> None:
    running.clock.pass_time(timedelta(minutes=1))
    response = await running.client.post(
        f"/v1/plans/{plan['id']}/lapse", json={"trigger": "fall", "note": "At the window."}
    )
    assert response.status_code == 200, response.text


async def versions(running: World, path: str) -> list[Told]:
    """Oldest first, each as it is read by itself too."""
    bundle = await get(running, f"{path}/_history")
    told = [entry["resource"] for entry in bundle["entry"]][::-1]
    for one in told:
        assert one == await get(running, f"{path}/_history/{one['meta']['versionId']}")
    assert told[-1] == await get(running, path)
    return told


def chosen(plan: Told) -> tuple[str, str]:
    """The method of the move that is overruled in these tests, and how far it is with it."""
    detail = next(
        one["detail"]
        for one in plan["activity"]
        if one["detail"]["extension"][0]["valueCodeableConcept"]["coding"][0]["code"] == MOVE
    )
    return detail["code"]["coding"][0]["code"], detail["status"]


def method(plan: Told) -> str:
    found: str = next(one["method"] for one in plan["moves"] if one["move"] == MOVE)
    return found


def faultless(*resources: Told) -> None:
    """To everybody; who has loaded our package knows the official definitions as well."""
    for one in resources:
        raw = encode(one)
        assert resource_faults(one) == []
        assert form_faults(raw) == []
        assert parse_faults(raw) == []
        assert package_faults(one) == []
        assert our_faults(read_tree(raw), KNOWN) == []
