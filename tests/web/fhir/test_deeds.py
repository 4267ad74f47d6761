"""Are responses corrected and withdrawn by PUT, in the version they were read in?"""

import asyncio

import pytest

from service.web.fhir.intents import NO_REASON, NO_REASON_WITHDRAWN
from tests.fhir.responses import Raw, answer_of, kilograms
from tests.web.fhir.posted import (
    ABSOLUTE,
    BASE,
    RESPONSES,
    bundle,
    count,
    entry,
    issues,
    kept,
    post,
    put,
    response,
)
from tests.web.world import World, screen

FIRST = 'W/"1"'
REASON = "https://stanchion.example/fhir/StructureDefinition/correction-reason"
NAMED = {"identifier": {"system": "urn:sender", "value": "F7"}}
BY_NAME = f"{RESPONSES}?identifier=urn%3Asender%7CF7"


async def first(running: World) -> tuple[str, Raw]:
    """The address of a kept response, and its body."""
    body: Raw = (await post(running, response())).json()
    return f"{RESPONSES}/{body['id']}", body


def heavier(body: Raw, status: str = "amended") -> Raw:
    changed = {**body, "status": status}
    answer_of(changed, "patient.mass_kg")["valueQuantity"] = kilograms("80.50")
    return changed


@pytest.mark.parametrize("status", ["amended", "completed", "stopped"])
async def test_a_changed_response_is_a_correction(running: World, status: str) -> None:
    address, body = await first(running)
    answer = await put(running, heavier(body, status), address, If_Match=FIRST)
    assert answer.status_code == 200, answer.text
    assert answer.headers["etag"] == 'W/"2"'
    assert answer.headers["location"] == f"{ABSOLUTE}/QuestionnaireResponse/{body['id']}/_history/2"
    assert answer.json()["status"] == "amended"
    native = await kept(running, answer)
    assert native["screen"]["correction_reason"] == NO_REASON
    assert native["screen"]["content"]["patient"]["mass_kg"] == 80.5
    assert native["plan"]["id"] in answer.headers["link"]


async def test_a_reason_goes_with_the_correction(running: World) -> None:
    address, body = await first(running)
    said = {"extension": [{"url": REASON, "valueString": "The scale was read wrongly."}]}
    answer = await put(running, {**heavier(body), **said}, address, If_Match=FIRST)
    native = await kept(running, answer)
    assert native["screen"]["correction_reason"] == "The scale was read wrongly."


async def test_digits_alone_are_a_change_and_nothing_is_none(running: World) -> None:
    address, body = await first(running)
    answer_of(body, "patient.mass_kg")["valueQuantity"] = kilograms("71.5")
    same = await put(running, {**body, "status": "amended"}, address, If_Match=FIRST)
    assert (same.status_code, same.headers["etag"]) == (200, FIRST)
    answer_of(body, "patient.mass_kg")["valueQuantity"] = kilograms("71.50")
    finer = await put(running, body, address, If_Match=FIRST)
    assert finer.headers["etag"] == 'W/"2"'
    assert b'"value":71.50' in finer.content
    stale = await put(running, body, address, If_Match=FIRST)
    assert stale.status_code == 412


async def test_a_change_needs_the_version_it_was_made_for(running: World) -> None:
    address, body = await first(running)
    changed = heavier(body)
    assert (await put(running, changed, address)).status_code == 428
    for tag, status in ((FIRST[2:], 200), (FIRST, 412), ('"x"', 412), ("1", 400), ("*", 400)):
        answer = await put(running, changed, address, If_Match=tag)
        assert answer.status_code == status, tag
        assert answer.json()["resourceType"] in ("OperationOutcome", "QuestionnaireResponse")


async def test_of_two_changes_at_once_one_wins(running: World) -> None:
    address, body = await first(running)
    changed = heavier(body)
    both = await asyncio.gather(*(put(running, changed, address, If_Match=FIRST) for _ in range(2)))
    assert sorted(answer.status_code for answer in both) == [200, 412]


async def test_the_address_and_the_id_must_agree_and_be_known(running: World) -> None:
    address, body = await first(running)
    other = await put(running, {**body, "id": "other"}, address, If_Match=FIRST)
    assert other.status_code == 400
    nobody = {key: value for key, value in body.items() if key not in ("id", "identifier")}
    unknown = await put(running, {**nobody, "id": "1"}, f"{RESPONSES}/1", If_Match=FIRST)
    assert (unknown.status_code, unknown.headers["allow"]) == (405, "")
    assert unknown.json()["issue"][0]["code"] == "not-supported"


async def test_in_a_transaction_what_is_not_there_is_not_found_and_in_a_batch_not_made(
    running: World,
) -> None:
    body = {**response("H-1"), "id": "1"}
    unknown = entry(body, "PUT", "QuestionnaireResponse/1", ifMatch=FIRST)
    whole = await post(running, bundle(unknown), BASE)
    assert (whole.status_code, whole.json()["issue"][0]["code"]) == (404, "not-found")
    each = await post(running, bundle(unknown, kind="batch"), BASE)
    assert each.json()["entry"][0]["response"]["status"] == "405 Method Not Allowed"


async def test_whose_screen_it_is_stays(running: World) -> None:
    address, body = await first(running)
    answer_of(body, "patient.identifier.value")["valueString"] = "H-9"
    body.pop("subject")
    answer = await put(running, body, address, If_Match=FIRST)
    assert answer.status_code == 422
    assert issues(answer)[0][1] == "correction.unchanged"
    assert issues(answer)[0][0].startswith("QuestionnaireResponse.item[0].item[0]")


async def test_an_identifier_of_another_response_is_refused(running: World) -> None:
    address, body = await first(running)
    body["identifier"]["value"] = "other"
    answer = await put(running, heavier(body), address, If_Match=FIRST)
    assert issues(answer) == [("QuestionnaireResponse.identifier", "form.identifier")]


async def test_a_response_in_error_is_withdrawn_and_the_plan_before_stands(
    running: World,
) -> None:
    before = await running.post(screen(observed_at="2026-03-04T07:00:00+00:00"))
    address, body = await first(running)
    gone = {"resourceType": "QuestionnaireResponse", "id": body["id"], "status": "entered-in-error"}
    answer = await put(running, gone, address, If_Match=FIRST)
    assert answer.status_code == 200, answer.text
    assert answer.json()["status"] == "entered-in-error"
    native = await kept(running, answer)
    assert native["screen"]["status"] == "withdrawn"
    assert native["screen"]["correction_reason"] == NO_REASON_WITHDRAWN
    plan = await running.client.get(f"/v1/plans/{before['plan']['id']}")
    assert plan.json()["state"] == "current"
    again = await put(running, {**answer.json()}, address, If_Match='W/"2"')
    assert again.status_code == 200
    late = await put(running, heavier(body), address, If_Match='W/"2"')
    assert late.status_code == 409


async def test_a_withdrawal_of_somebody_elses_screen_is_refused(running: World) -> None:
    address, body = await first(running)
    gone = {**response("H-2"), "id": body["id"], "status": "entered-in-error"}
    answer = await put(running, gone, address, If_Match=FIRST)
    assert issues(answer) == [("QuestionnaireResponse.subject", "form.disagrees")]
    strange = {**body, "status": "entered-in-error", "modifierExtension": [{"url": "urn:x"}]}
    refused = await put(running, strange, address, If_Match=FIRST)
    assert issues(refused) == [("QuestionnaireResponse.modifierExtension", "form.modifier")]


async def test_a_response_in_progress_changes_nothing(running: World) -> None:
    address, body = await first(running)
    answer = await put(running, heavier(body, "in-progress"), address, If_Match=FIRST)
    assert issues(answer) == [("QuestionnaireResponse.status", "form.status")]
    assert (await running.client.get(f"/v1/screens/{body['id']}")).json()["screen"]["version"] == 1


# ── by the sender's identifier ─────────────────────────────────────────────────────────────────


async def test_by_the_senders_identifier_the_first_creates_and_the_next_corrects(
    running: World,
) -> None:
    raw = {**response(), **NAMED}
    made = await put(running, raw, BY_NAME)
    assert made.status_code == 201
    same = await put(running, raw, BY_NAME)
    assert (same.status_code, same.headers["etag"]) == (200, FIRST)
    changed = await put(running, heavier(raw, "completed"), f"{BY_NAME}&_pretty=true")
    assert (changed.status_code, changed.headers["etag"]) == (200, 'W/"2"')
    assert await count(running) == 1
    gone = await put(running, {**raw, "status": "entered-in-error"}, BY_NAME)
    assert gone.json()["status"] == "entered-in-error"


async def test_a_first_sight_of_an_amended_response_is_a_new_screen(running: World) -> None:
    made = await put(running, heavier(response()), BY_NAME)
    assert made.status_code == 201
    assert (await kept(running, made))["screen"]["content"]["source_id"] == "urn:sender|F7"


async def test_nothing_known_cannot_be_withdrawn_or_matched(running: World) -> None:
    raw = {**response(), **NAMED}
    gone = await put(running, {**raw, "status": "entered-in-error"}, BY_NAME)
    assert issues(gone) == [("QuestionnaireResponse.status", "form.status")]
    matched = await put(running, raw, BY_NAME, If_Match=FIRST)
    assert matched.status_code == 412
    assert await count(running) == 0


async def test_an_id_of_the_senders_own_is_not_taken(running: World) -> None:
    answer = await put(running, {**response(), **NAMED, "id": "mine"}, BY_NAME)
    assert answer.status_code == 400
    assert await count(running) == 0


async def test_a_named_version_is_held_to(running: World) -> None:
    raw = {**response(), **NAMED}
    await put(running, raw, BY_NAME)
    stale = await put(running, heavier(raw), BY_NAME, If_Match='W/"4"')
    assert stale.status_code == 412
    good = await put(running, heavier(raw), BY_NAME, If_Match=FIRST)
    assert good.status_code == 200


async def test_our_own_identifier_finds_a_response_too(running: World) -> None:
    _, body = await first(running)
    system = "https%3A%2F%2Fstanchion.example%2Ffhir%2Fidentifier%2Fscreen"
    address = f"{RESPONSES}?identifier={system}%7C{body['id']}"
    answer = await put(running, heavier(body), address)
    assert (answer.status_code, answer.headers["etag"]) == (200, 'W/"2"')


async def test_another_id_than_the_one_found_is_refused(running: World) -> None:
    raw = {**response(), **NAMED}
    await put(running, raw, BY_NAME)
    answer = await put(running, {**raw, "id": "other"}, BY_NAME)
    assert answer.status_code == 400


@pytest.mark.parametrize(
    "query", ["", "?", "?patient=1", "?identifier=F7", "?identifier=a%7Cb&x=1"]
)
async def test_other_queries_are_a_bad_request(running: World, query: str) -> None:
    answer = await put(running, response(), f"{RESPONSES}{query}")
    assert answer.status_code == 400
    assert await count(running) == 0


async def test_of_many_at_once_one_creates(running: World) -> None:
    raw = {**response(), **NAMED}
    answers = await asyncio.gather(
        *(
            put(running, heavier(raw, "completed") if number % 2 else raw, BY_NAME)
            for number in range(6)
        )
    )
    assert sorted({answer.status_code for answer in answers}) == [200, 201]
    assert await count(running) == 1
