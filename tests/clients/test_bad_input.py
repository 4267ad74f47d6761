"""Is all that is bad refused with the right status, told where, and never kept in part?"""

import json

import pytest

from tests.clients.bad_input import EVERY, SENT, Bad, bundle, response
from tests.clients.smart_python import strict
from tests.clients.ward import Ward
from tests.fhir.validators import form_faults, official_faults, parse_faults


@pytest.mark.parametrize("bad", EVERY.values(), ids=EVERY.keys())
def test_it_is_refused_with_an_outcome_that_names_the_place(ward: Ward, bad: Bad) -> None:
    before = ward.responses()
    answer = ward.server.client.request(
        bad.method,
        f"/fhir/R4/{bad.path}",
        content=bad.content(),
        headers={"Content-Type": SENT, **bad.headers},
    )

    assert answer.status_code == bad.status, answer.text[:500]
    assert answer.headers["content-type"].startswith(SENT)
    outcome = answer.json()
    assert outcome["resourceType"] == "OperationOutcome"
    issue = outcome["issue"][0]
    assert (issue["severity"], issue["code"]) == ("error", bad.code), outcome["issue"]
    assert issue.get("expression") == (None if bad.at is None else [bad.at]), outcome["issue"]
    assert issue["details"]["text"]
    assert ward.responses() == before

    assert official_faults(outcome) == []
    assert form_faults(answer.content) == []
    assert parse_faults(answer.content) == []
    strict(json.loads(answer.content))


def test_what_is_good_in_a_batch_is_kept_and_what_is_bad_told(ward: Ward) -> None:
    before = ward.responses()
    sent = {**bundle(response(), response(unheardOf=1)), "type": "batch"}
    answer = ward.server.client.post("/fhir/R4", json=sent)

    assert answer.status_code == 200
    good, bad = (entry["response"] for entry in answer.json()["entry"])
    assert (good["status"][:3], bad["status"][:3]) == ("201", "422")
    assert bad["outcome"]["issue"][0]["expression"] == ["Bundle.entry[1].resource.unheardOf"]
    assert ward.responses() == before + 1


def test_the_server_is_none_the_worse_for_it(ward: Ward) -> None:
    answer = ward.server.client.post("/fhir/R4/QuestionnaireResponse", json=response())
    assert answer.status_code == 201
    assert ward.server.client.get("/health/ready").status_code == 200
