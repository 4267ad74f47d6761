"""Are responses created, corrected and withdrawn over FHIR as the standard and we promise?"""

from typing import Any

import pytest

from tests.fhir.own_checks import bundle_faults
from tests.fhir.responses import answer_of, item_of, json_of
from tests.fhir.validators import read
from tests.web.fhir.posted import (
    ABSOLUTE,
    BASE,
    RESPONSES,
    SENT,
    count,
    issues,
    kept,
    post,
    put,
    response,
)
from tests.web.world import World, screen

NAMED = {"identifier": {"system": "urn:sender", "value": "F 7"}}
ASKED = "identifier=urn%3Asender%7CF%207"


async def test_a_response_is_kept_as_the_screen_it_holds(running: World) -> None:
    answer = await post(running, response())
    assert answer.status_code == 201
    body, native = answer.json(), await kept(running, answer)
    assert body["resourceType"] == "QuestionnaireResponse"
    assert native["screen"]["id"] == body["id"]
    posted = await running.post(screen("H-2"))
    expected = posted["screen"]["content"] | {"patient": native["screen"]["content"]["patient"]}
    assert native["screen"]["content"] == expected
    assert native["plan"]["moves"] == posted["plan"]["moves"]


async def test_the_answer_says_where_it_is_its_version_and_the_plan(running: World) -> None:
    answer = await post(running, response())
    native = await kept(running, answer)
    location = f"{ABSOLUTE}/QuestionnaireResponse/{native['screen']['id']}/_history/1"
    assert answer.headers["location"] == location
    assert answer.headers["etag"] == 'W/"1"'
    assert answer.headers["last-modified"].endswith("GMT")
    plan = f'<{ABSOLUTE}/CarePlan/{native["plan"]["id"]}>; rel="related"'
    assert answer.headers["link"] == plan
    assert answer.headers["content-type"].startswith("application/fhir+json")


@pytest.mark.parametrize(
    ("prefer", "kind"),
    [
        ("return=minimal", None),
        ("handling=strict, return=representation", "QuestionnaireResponse"),
        ("return=OperationOutcome", "OperationOutcome"),
        ("return=nonsense", "QuestionnaireResponse"),
    ],
)
async def test_prefer_says_what_comes_back(running: World, prefer: str, kind: str | None) -> None:
    answer = await post(running, response(), Prefer=prefer)
    assert answer.status_code == 201
    assert (answer.json()["resourceType"] if answer.content else None) == kind
    assert answer.headers["content-type"].startswith("application/fhir+json")
    assert answer.headers["etag"] == 'W/"1"'


async def test_an_outcome_lists_the_ids_that_were_made(running: World) -> None:
    answer = await post(running, response(), Prefer="return=OperationOutcome")
    native = await kept(running, answer)
    texts = [issue["details"]["text"] for issue in answer.json()["issue"]]
    assert texts == [
        f"QuestionnaireResponse/{native['screen']['id']}/_history/1",
        f"Patient/{native['screen']['patient_id']}",
        f"CarePlan/{native['plan']['id']}",
    ]


async def test_what_was_read_can_be_sent_again_as_it_came(running: World) -> None:
    first = await post(running, response())
    body = first.json()
    address = f"{RESPONSES}/{body['id']}"
    again = await put(running, body, address, If_Match='W/"1"')
    assert (again.status_code, again.headers["etag"]) == (200, 'W/"1"')
    assert again.json() == body


async def test_a_fault_is_told_where_it_stands_and_nothing_is_kept(running: World) -> None:
    raw = response()
    answer_of(raw, "patient.mass_kg")["valueQuantity"]["code"] = "[lb_av]"
    item_of(raw, "readiness.rass")["linkId"] = "readiness.rags"
    answer = await post(running, raw)
    assert answer.status_code == 422
    assert issues(answer) == [
        ("QuestionnaireResponse.item[0].item[2].answer[0].valueQuantity.code", "form.unit"),
        ("QuestionnaireResponse.item[3].item[0].linkId", "form.unknown_link"),
    ]
    assert await count(running) == 0


async def test_a_fault_of_sense_is_told_where_the_answer_stands(running: World) -> None:
    raw = response()
    answer_of(raw, "patient.age_years")["valueQuantity"]["value"] = 12
    answer = await post(running, raw)
    assert answer.status_code == 422
    assert issues(answer) == [
        ("QuestionnaireResponse.item[0].item[1].answer[0]", "sense.adults_only")
    ]


@pytest.mark.parametrize(
    ("body", "status"),
    [(b"{", 400), (b'{"resourceType":"QuestionnaireResponse","a":1,"a":1}', 400), (b"[]", 422)],
)
async def test_what_is_no_resource_is_an_outcome_too(
    running: World, body: bytes, status: int
) -> None:
    answer = await post(running, body)
    assert answer.status_code == status
    assert answer.json()["resourceType"] == "OperationOutcome"


async def test_other_forms_of_body_and_unknown_parameters_are_refused(running: World) -> None:
    xml = await post(running, b"<a/>", Content_Type="application/fhir+xml")
    assert xml.status_code == 415
    query = await post(running, response(), f"{RESPONSES}?_forma=json")
    assert query.status_code == 400
    pretty = await post(running, response(), f"{RESPONSES}?_pretty=true")
    assert pretty.status_code == 201


async def test_nobody_writes_without_a_key(running: World) -> None:
    answer = await running.nobody.post(RESPONSES, content=json_of(response()), headers=SENT)
    assert answer.status_code == 401
    assert answer.json()["resourceType"] == "OperationOutcome"


@pytest.mark.parametrize("path", [f"{BASE}/$screen", f"{RESPONSES}/$screen"])
async def test_the_operation_gives_the_whole_answer(running: World, path: str) -> None:
    for number, raw in enumerate(
        (
            response("H-1"),
            {
                "resourceType": "Parameters",
                "parameter": [{"name": "response", "resource": response("H-2")}],
            },
        )
    ):
        answer = await post(running, raw, path)
        assert answer.status_code == 200, answer.text
        assert bundle_faults(read(answer.content)) == []
        screen_id = answer.headers["location"].split("/")[-3]
        whole = await running.client.get(
            f"/v1/screens/{screen_id}", headers={"Accept": "application/fhir+json"}
        )
        assert answer.json()["entry"] == whole.json()["entry"]
        assert await count(running) == number + 1


async def test_the_operation_is_done_once_under_a_key(running: World) -> None:
    path = f"{BASE}/$screen"
    first = await post(running, response(), path, Idempotency_Key="k")
    again = await post(running, response(), path, Idempotency_Key="k")
    assert again.headers["idempotency-replayed"] == "true"
    assert again.json()["entry"][1] == first.json()["entry"][1]
    assert await count(running) == 1


@pytest.mark.parametrize(
    ("parameter", "expected"),
    [
        ([], ("Parameters.parameter", "shape.missing")),
        ([{"name": "other"}], ("Parameters.parameter[0]", "form.place")),
        ([{"name": "response"}] * 2, ("Parameters.parameter", "shape.missing")),
        (
            [{"name": "response", "resource": {"resourceType": "Patient"}}],
            ("Parameters.parameter[0].resource.resourceType", "form.resource_type"),
        ),
    ],
)
async def test_parameters_hold_one_response(
    running: World, parameter: list[Any], expected: tuple[str, str]
) -> None:
    raw = {"resourceType": "Parameters", "parameter": parameter}
    answer = await post(running, raw, f"{BASE}/$screen")
    assert answer.status_code == 422
    assert issues(answer) == [expected]
