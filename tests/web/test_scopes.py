"""Does a caller do what its scopes allow, and nothing else, at any address?"""

from typing import Any

import httpx
import pytest

from service.application.service import Call
from service.domain.problem import NotAllowed
from service.domain.record import Principal
from service.domain.scope import granted
from service.storage.keys import create_key, list_keys
from service.web.routes import OPERATIONS
from service.web.scopes import allow, needs, require
from tests.web.world import World, client_of, screen

OF_ANY = {"rules"}
"""The tags whose operations show nothing of a patient: any good credential will do."""


def call(scopes: str) -> Call:
    return Call(Principal("org", "credential", "name", granted(scopes)), "request")


def test_each_letter_is_needed() -> None:
    assert needs("Observation", "rs") == ("Observation.r", "Observation.s")
    assert allow(call("system/Observation.rs"), needs("Observation", "rs"))
    assert not allow(call("system/Observation.r"), needs("Observation", "rs"))
    assert allow(call(""), ())


def test_what_is_missing_is_named_and_nothing_else() -> None:
    with pytest.raises(NotAllowed) as refused:
        require(call("system/Patient.r"), (*needs("Patient", "r"), *needs("Goal", "rs")))
    assert refused.value.scope == "system/Goal.r system/Goal.s"
    assert "system/Goal.r system/Goal.s" in refused.value.detail
    assert refused.value.known


def test_every_operation_on_patient_data_names_its_scopes() -> None:
    for one in OPERATIONS:
        silent = one.open or one.tag in OF_ANY
        assert bool(one.needs) != silent, f"{one.method} {one.path}"


@pytest.mark.parametrize("one", [one for one in OPERATIONS if one.needs], ids=lambda one: one.id)
async def test_without_one_of_its_scopes_an_operation_answers_403(running: World, one: Any) -> None:
    path = one.path.replace("{", "").replace("}", "")
    for need in one.needs:
        kind, _, letter = need.partition(".")
        others = [f"system/{other}.cruds" for other in KINDS - {kind}]
        rest = [f"system/{kind}.{''.join(each for each in 'cruds' if each != letter)}"]
        async with holding(running, *others, *rest) as client:
            response = await client.request(one.method, path)
        assert response.status_code == 403
        said = f'error="insufficient_scope", scope="system/{need}"'
        assert said in response.headers["www-authenticate"]


async def test_with_its_scopes_alone_the_main_job_is_done(running: World) -> None:
    async with holding(running, "system/QuestionnaireResponse.c") as client:
        made = await client.post("/v1/screens", json=screen())
        assert made.status_code == 201
        plan = await client.get(f"/v1/plans/{made.json()['plan']['id']}")
        assert plan.status_code == 403
    async with holding(running, "system/CarePlan.read") as client:
        plan = await client.get(f"/v1/plans/{made.json()['plan']['id']}")
        assert plan.status_code == 200


async def test_as_fhir_the_refusal_is_an_outcome_that_says_forbidden(running: World) -> None:
    async with holding(running, "system/Goal.r") as client:
        response = await client.get("/v1/plans/x", headers={"Accept": "application/fhir+json"})
    assert response.status_code == 403
    (issue,) = response.json()["issue"]
    assert issue["code"] == "forbidden"
    assert "system/CarePlan.r" in str(issue)


KINDS = {need.partition(".")[0] for one in OPERATIONS for need in one.needs}


def holding(running: World, *scopes: str) -> httpx.AsyncClient:
    """A client whose key has these scopes."""
    (org,) = {key.org for key in list_keys(running.database) if key.name == "ward"}
    made = create_key(running.database, running.clock, org, "limited", scopes=scopes)
    return client_of(running.app, made.key)
