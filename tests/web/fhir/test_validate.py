"""Is a resource looked at over HTTP, valid or not, sent or kept, and never kept by that?"""

import json
from typing import Any

import pytest

from service.fhir.base_facts import known_resources
from service.storage.keys import create_key
from service.storage.organisations import list_organisations
from service.web.fhir.validate import KEPT, TYPES, kind_of
from tests.fhir.broken import OBSERVATION, changed
from tests.web.fhir.posted import BASE, SENT, post, response
from tests.web.world import World

SENT_OBSERVATION = json.loads(json.dumps(OBSERVATION, default=float))
PATH = f"{BASE}/Observation/$validate"
Issues = list[tuple[str, str]]


async def issues(running: World, body: Any, path: str = PATH) -> Issues:
    """(fault, expression) of every error and warning."""
    answer = await post(running, body, path)
    assert answer.status_code == 200, answer.text
    return told(answer.json())


def told(outcome: Any) -> Issues:
    assert outcome["resourceType"] == "OperationOutcome"
    return [
        (
            issue["details"]["coding"][0]["code"].removeprefix("validate."),
            "".join(issue.get("expression", ())),
        )
        for issue in outcome["issue"]
        if issue["severity"] != "information"
    ]


def parameters(*given: Any) -> Any:
    return {"resourceType": "Parameters", "parameter": list(given)}


RESOURCE = {"name": "resource", "resource": SENT_OBSERVATION}


async def test_a_valid_resource_has_no_fault(running: World) -> None:
    answer = await post(running, SENT_OBSERVATION, PATH)
    assert answer.headers["content-type"].startswith("application/fhir+json")
    first, second = answer.json()["issue"]
    assert first["details"]["text"] == "No fault was found."
    assert second["details"]["text"].startswith("Not looked at:")


async def test_an_invalid_one_is_answered_all_the_same(running: World) -> None:
    broken = changed(SENT_OBSERVATION, "status", "finall")
    assert await issues(running, broken) == [("code_not_in_set", "Observation.status")]


async def test_parameters_hold_resource_mode_and_profile(running: World) -> None:
    assert (
        await issues(running, parameters(RESOURCE, {"name": "mode", "valueCode": "create"})) == []
    )
    asked = parameters(RESOURCE, {"name": "profile", "valueUri": "http://a.example/p"})
    assert await issues(running, asked) == [("profile_unknown", "Observation")]
    deleted = parameters(RESOURCE, {"name": "mode", "valueCode": "delete"})
    assert await issues(running, deleted) == [("mode", "")]
    assert await issues(running, parameters()) == [("no_resource", "")]


async def test_mode_and_profile_may_stand_in_the_address(running: World) -> None:
    asked = f"{PATH}?profile=http://a.example/p&mode=delete&_pretty=true"
    assert await issues(running, SENT_OBSERVATION, asked) == [
        ("mode", ""), ("profile_unknown", "Observation"),
    ]  # fmt: skip
    answer = await post(running, SENT_OBSERVATION, f"{PATH}?profil=x")
    assert answer.status_code == 400
    assert answer.json()["resourceType"] == "OperationOutcome"


async def test_the_address_says_the_type_and_the_id(running: World) -> None:
    other = f"{BASE}/Patient/$validate"
    assert await issues(running, SENT_OBSERVATION, other) == [("other_type", "Observation")]
    instance = f"{BASE}/Observation/b/$validate"
    assert await issues(running, SENT_OBSERVATION, instance) == [("other_id", "Observation.id")]


@pytest.mark.parametrize("body", [b"{", b"", b'{"a":1,"a":2}', b"\xff"])
async def test_what_is_no_json_is_refused(running: World, body: bytes) -> None:
    answer = await post(running, body, PATH)
    assert answer.status_code == 400
    assert answer.json()["issue"][0]["severity"] == "error"


async def test_another_form_of_body_is_not_read(running: World) -> None:
    answer = await post(running, SENT_OBSERVATION, PATH, Content_Type="application/fhir+xml")
    assert answer.status_code == 415
    answer = await post(running, SENT_OBSERVATION, PATH, Accept="application/fhir+xml")
    assert answer.status_code == 406


async def test_who_has_no_credential_is_not_answered(running: World) -> None:
    answer = await running.nobody.post(PATH, json=SENT_OBSERVATION, headers=SENT)
    assert answer.status_code == 401


async def test_what_is_kept_is_looked_at_and_is_valid(running: World) -> None:
    made = (await post(running, response())).json()["id"]
    place = f"{BASE}/QuestionnaireResponse/{made}/$validate"
    kept = await running.client.get(place)
    assert kept.status_code == 200
    assert told(kept.json()) == []
    empty = await running.client.post(place)
    assert empty.json() == kept.json()
    by_profile = await post(
        running, parameters({"name": "profile", "valueUri": "http://a.example/p"}), place
    )
    assert told(by_profile.json()) == [("profile_unknown", "QuestionnaireResponse")]


async def test_what_is_kept_by_others_is_not_there(running: World) -> None:
    made = (await post(running, response())).json()["id"]
    place = f"{BASE}/QuestionnaireResponse/{made}/$validate"
    assert (await running.stranger.get(place)).status_code == 404
    assert (await running.client.get(place.replace(made, "none"))).status_code == 404


async def test_what_is_kept_is_looked_at_by_those_who_may_read_it(running: World) -> None:
    made = (await post(running, response())).json()["id"]
    org = next(one.org for one in list_organisations(running.database) if one.name == "Harbour")
    key = create_key(running.database, running.clock, org, "narrow", scopes=["system/Goal.r"]).key
    place = f"{BASE}/QuestionnaireResponse/{made}/$validate"
    narrow = {**SENT, "Authorization": f"Bearer {key}"}
    assert (await running.nobody.get(place, headers=narrow)).status_code == 403
    published = f"{BASE}/ValueSet/move/$validate"
    assert (await running.nobody.get(published, headers=narrow)).status_code == 403
    sent = await running.nobody.post(PATH, json=SENT_OBSERVATION, headers=narrow)
    assert told(sent.json()) == []


async def test_what_is_published_is_looked_at(running: World) -> None:
    place = f"{BASE}/StructureDefinition/stanchion-patient/$validate"
    answer = await running.client.get(place)
    assert answer.status_code == 200
    assert told(answer.json()) == []
    assert (await running.client.get(place.replace("patient", "none"))).status_code == 404


async def test_nothing_that_is_looked_at_is_kept(running: World) -> None:
    await issues(running, response(), f"{BASE}/QuestionnaireResponse/$validate")
    listed = await running.client.get("/v1/screens?since=2020-01-01T00:00:00Z")
    assert listed.json()["items"] == []


def test_every_type_there_are_facts_for_can_be_looked_at() -> None:
    assert known_resources() == TYPES
    assert set(KEPT) < set(TYPES)


def test_the_type_is_read_off_the_address() -> None:
    class Asked:
        scope = {"path": "/fhir/R4/Observation/a/$validate"}  # noqa: RUF012

    assert kind_of(Asked()) == "Observation"  # type: ignore[arg-type]
