"""Is each entry of a batch answered on its own, and no other Bundle taken?"""

from typing import Any

import pytest

from service.storage.keys import create_key
from tests.fhir.responses import Raw, answer_of, json_of
from tests.storage.made import sql_of
from tests.web.fhir.posted import (
    BASE,
    RESPONSES,
    SENT,
    URN,
    bundle,
    count,
    created,
    entry,
    issues,
    person,
    post,
    response,
)
from tests.web.world import World, client_of, screen


async def told(running: World, *entries: Raw, **headers: str) -> list[Raw]:
    answer = await post(running, bundle(*entries, kind="batch"), BASE, **headers)
    assert answer.status_code == 200, answer.text
    assert answer.json()["type"] == "batch-response"
    found: list[Raw] = answer.json().get("entry", [])
    return found


def rules(one: Raw) -> list[tuple[str, str]]:
    outcome = one["response"]["outcome"]
    return [
        (issue["expression"][0], issue["details"]["coding"][0]["code"])
        for issue in outcome["issue"]
    ]


async def test_each_entry_stands_for_itself(running: World) -> None:
    bad = response("H-2")
    answer_of(bad, "patient.mass_kg")["valueQuantity"]["code"] = "lb"
    good, wrong, last = await told(
        running, created("H-1"), entry(bad, "POST", "QuestionnaireResponse"), created("H-3")
    )
    assert good["response"]["status"] == last["response"]["status"] == "201 Created"
    assert wrong["response"]["status"] == "422 Unprocessable Entity"
    assert rules(wrong) == [
        (
            "Bundle.entry[1].resource.item[0].item[2].answer[0].valueQuantity.code",
            "form.unit",
        )
    ]
    assert await count(running) == 2


@pytest.mark.parametrize(
    ("one", "status", "rule"),
    [
        (entry(None, "DELETE", "QuestionnaireResponse/1"), 422, "bundle.method"),
        (entry(person(), "POST", "Patient"), 422, "bundle.patient_alone"),
        (entry({"resourceType": "Flag"}, "POST", "Flag"), 422, "bundle.entry_type"),
        (
            entry(
                {**response(), "subject": {"reference": f"{URN}1"}}, "POST", "QuestionnaireResponse"
            ),
            422,
            "bundle.unresolved",
        ),
        ("nonsense", 422, "shape.type"),
    ],
)
async def test_a_bad_entry_is_told_in_its_place(
    running: World, one: Any, status: int, rule: str
) -> None:
    good, wrong = await told(running, created("H-1"), one)
    assert good["response"]["status"] == "201 Created"
    assert wrong["response"]["status"].startswith(str(status))
    assert [code for _, code in rules(wrong)] == [rule]
    assert all(place.startswith("Bundle.entry[1]") for place, _ in rules(wrong))


async def test_an_update_without_its_version_is_told_by_status(running: World) -> None:
    body = (await post(running, response())).json()
    address = f"QuestionnaireResponse/{body['id']}"
    missing, stale = await told(
        running, entry(body, "PUT", address), entry(body, "PUT", address, ifMatch='W/"9"')
    )
    assert missing["response"]["status"] == "428 Precondition Required"
    assert stale["response"]["status"] == "412 Precondition Failed"


async def test_more_entries_than_share_a_commit_keep_their_order(running: World) -> None:
    entries = [created(f"H-{number}") for number in range(20)]
    done = await told(running, *entries, Prefer="return=representation")
    values = [one["resource"]["subject"]["identifier"]["value"] for one in done]
    assert values == [f"H-{number}" for number in range(20)]


async def test_a_key_makes_each_entry_once(running: World) -> None:
    first = await told(running, created("H-1"), created("H-2"), Idempotency_Key="k")
    assert await told(running, created("H-1"), created("H-2"), Idempotency_Key="k") == first
    assert await count(running) == 2


@pytest.mark.parametrize(
    ("raw", "expected"),
    [
        ({"resourceType": "Parameters"}, ("Bundle.resourceType", "form.resource_type")),
        ({"resourceType": "Bundle"}, ("Bundle.type", "bundle.type")),
        ({"resourceType": "Bundle", "type": "message"}, ("Bundle.type", "bundle.type")),
        ({"resourceType": "Bundle", "type": "batch", "entry": {}}, ("Bundle.entry", "shape.type")),
        (
            {"resourceType": "Bundle", "type": "batch", "extra": 1},
            ("Bundle.extra", "shape.unknown_field"),
        ),
        (bundle(*[{}] * 10_000), ("Bundle.entry", "bundle.too_many")),
    ],
)
async def test_another_bundle_is_refused_whole(
    running: World, raw: Any, expected: tuple[str, str]
) -> None:
    answer = await post(running, raw, BASE)
    assert answer.status_code == 422
    assert expected in issues(answer)


async def test_a_bundle_over_the_size_limit_is_too_large(running: World) -> None:
    answer = await post(running, bundle(*[created("H-1")] * 900), BASE)
    assert answer.status_code == 413
    assert answer.json()["resourceType"] == "OperationOutcome"


async def test_reads_in_a_batch_are_answered_as_any_read(running: World) -> None:
    await running.post(screen("H-1"))
    nowhere, odd = await told(
        running, entry(None, "GET", "Nowhere/1"), entry(None, "GET", "../../v1/screens")
    )
    assert nowhere["response"]["status"] == "404 Not Found"
    assert nowhere["response"]["outcome"]["resourceType"] == "OperationOutcome"
    assert [code for _, code in rules(odd)] == ["bundle.url"]


async def test_a_credential_that_may_only_read_writes_nothing(running: World) -> None:
    ((org,), *_) = sql_of(running.database, "SELECT org FROM organisation WHERE name = 'Harbour'")
    scopes = ("system/*.rs",)
    key = create_key(running.database, running.clock, org, "reader", scopes=scopes).key
    async with client_of(running.app, key) as reader:
        body = json_of(bundle(created("H-1"), entry(None, "GET", "metadata"), kind="batch"))
        answer = await reader.post(BASE, content=body, headers=SENT)
        refused, read = answer.json()["entry"]
        assert refused["response"]["status"] == "403 Forbidden"
        assert read["response"]["status"] == "200 OK"
        whole = await reader.post(BASE, content=json_of(bundle(created("H-1"))), headers=SENT)
        assert whole.status_code == 403
        alone = await reader.post(RESPONSES, content=json_of(response()), headers=SENT)
        assert alone.status_code == 403
    assert await count(running) == 0
