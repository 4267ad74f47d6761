"""Do the clients of others read a clinician's choice for what it is, through their own models?"""

from service.fhir.site import CANONICAL
from tests.clients.driver import Document, Driver
from tests.clients.ward import Ward, moment, new_person
from tests.web.world import screen

MOVE, LIFT = "bed_to_chair", "powered_stand_lift"
BY = {"identifier": {"system": "urn:oid:2.999.9", "value": "S-77"}, "role": "ward physician"}


def overruled(ward: Ward) -> Document:
    """The plan of a person nobody has screened yet, after a choice."""
    client = ward.server.client
    answer = client.post("/v1/screens", json=screen(new_person(), moment(30))).json()
    body = {"move": MOVE, "method": LIFT, "reason": "Saw it today.", "by": BY}
    path, held = f"/v1/plans/{answer['plan']['id']}/overrule", {"If-Match": '"1"'}
    response = client.post(path, json=body, headers=held)
    assert response.status_code == 200, response.text
    plan: Document = response.json()
    return plan


def parts(plan: Document) -> Document:
    """The choice as machines read it."""
    url = f"{CANONICAL}/StructureDefinition/overrule"
    (found,) = (
        one
        for activity in plan["activity"]
        for one in activity["detail"]["extension"]
        if one["url"] == url
    )
    return {one["url"]: one for one in found["extension"]}


def test_the_choice_is_read_in_the_place_of_what_was_computed(driver: Driver, ward: Ward) -> None:
    native = overruled(ward)
    plan = driver.read("CarePlan", native["id"])

    assert plan["meta"]["versionId"] == "2"
    (detail,) = (
        one["detail"]
        for one in plan["activity"]
        if one["detail"]["description"].startswith("Chosen by a clinician, not computed: ")
    )
    assert detail["code"]["coding"][0]["code"] == LIFT
    assert "LESS SUPPORTED than computed" in detail["description"]
    assert "doNotPerform" not in detail


def test_every_part_of_it_comes_through(driver: Driver, ward: Ward) -> None:
    native = overruled(ward)
    found = parts(driver.read("CarePlan", native["id"]))
    chosen = next(one for one in native["moves"] if one["move"] == MOVE)["overrule"]

    computed = found["computed"]["valueCodeableConcept"]
    assert computed["coding"][0]["code"] == chosen["computed"]["method"]
    assert found["reason"]["valueString"] == "Saw it today."
    assert found["by"]["valueReference"]["identifier"] == BY["identifier"]
    assert found["by"]["valueReference"]["display"] == BY["role"]
    assert found["lessSupported"]["valueBoolean"] is True
    assert found["at"]["valueDateTime"][:19] == chosen["at"][:19]


def test_the_newest_version_alone_is_found_with_who_made_it(driver: Driver, ward: Ward) -> None:
    native = overruled(ward)
    (plans,) = driver.pages("CarePlan", {"patient": native["patient_id"]})
    (made,) = driver.pages("Provenance", {"target": f"CarePlan/{native['id']}"})

    (plan,) = (entry["resource"] for entry in plans["entry"])
    (provenance,) = (entry["resource"] for entry in made["entry"])
    assert (plan["id"], plan["meta"]["versionId"]) == (native["id"], "2")
    assert provenance["target"][0]["reference"] == f"CarePlan/{native['id']}/_history/2"
    assert provenance["activity"]["coding"][0]["code"] == "overruled"
