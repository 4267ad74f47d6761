"""Is a new response kept once, and for the person that it is about?"""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import httpx
import pytest

from service.storage.keys import create_key
from tests.fhir.responses import answer_of, json_of
from tests.storage.made import sql_of
from tests.web.fhir.posted import (
    ABSOLUTE,
    BASE,
    RESPONSES,
    SENT,
    SYSTEM,
    bundle,
    count,
    entry,
    issues,
    kept,
    post,
    response,
    without_person,
)
from tests.web.world import World, client_of, screen

NAMED = {"identifier": {"system": "urn:sender", "value": "F 7"}}
ASKED = "identifier=urn%3Asender%7CF%207"


async def test_the_identifier_of_the_subject_stands_in_for_the_items(running: World) -> None:
    raw = {
        **response(),
        "subject": {"identifier": {"system": SYSTEM, "value": "H-8"}},
    }
    raw["item"][0]["item"] = [
        item for item in raw["item"][0]["item"] if item["linkId"] != "patient.identifier"
    ]
    native = await kept(running, await post(running, raw))
    assert native["screen"]["content"]["patient"]["identifier"]["value"] == "H-8"


async def test_a_reference_to_our_patient_brings_who_it_is(running: World) -> None:
    first = screen()
    del first["patient"]["age_years"]
    first["patient"] |= {"birth_date": "1950-05-05", "sex": "female"}
    known = (await running.post(first))["screen"]
    for reference in (
        f"Patient/{known['patient_id']}",
        f"{ABSOLUTE}/Patient/{known['patient_id']}",
    ):
        raw = {**without_person(), "subject": {"reference": reference}}
        answer = await post(running, raw)
        assert answer.status_code == 201, answer.text
        content = (await kept(running, answer))["screen"]
        assert content["patient_id"] == known["patient_id"]
        assert content["content"]["patient"]["birth_date"] == "1950-05-05"
        assert content["content"]["patient"]["mass_kg"] is None


async def test_a_reference_to_another_patient_than_the_items_is_refused(running: World) -> None:
    mara = (await running.post(screen("H-1")))["screen"]["patient_id"]
    await running.post(screen("H-2"))
    for value in ("H-2", "H-3"):
        raw = {**response(value), "subject": {"reference": f"Patient/{mara}"}}
        answer = await post(running, raw)
        assert answer.status_code == 422
        assert issues(answer) == [("QuestionnaireResponse.subject", "form.disagrees")]
    assert await count(running) == 2


async def test_another_identifier_that_we_know_them_by_agrees(running: World) -> None:
    first = screen("H-1")
    first["patient"]["more_identifiers"] = [{"system": "urn:oid:2.999.70", "value": "N-1"}]
    mara = (await running.post(first))["screen"]["patient_id"]
    await running.post(screen("H-1"))
    raw = {**response("N-1"), "subject": {"reference": f"Patient/{mara}"}}
    answer_of(raw, "patient.identifier.system")["valueUri"] = "urn:oid:2.999.70"
    answer = await post(running, raw)
    assert answer.status_code == 201, answer.text
    assert (await kept(running, answer))["screen"]["patient_id"] == mara


@pytest.mark.parametrize("reference", ["Patient/nobody", "http://ehr.example/Patient/1", "urn:x:1"])
async def test_a_reference_that_leads_nowhere_is_refused(running: World, reference: str) -> None:
    raw = {**without_person(), "subject": {"reference": reference}}
    answer = await post(running, raw)
    assert answer.status_code == 422
    assert ("QuestionnaireResponse.subject.reference", "form.reference") in issues(answer)


async def test_no_organisation_reaches_the_patients_of_another(running: World) -> None:
    mara = (await running.post(screen("H-1")))["screen"]["patient_id"]
    raw = {**without_person(), "subject": {"reference": f"Patient/{mara}"}}
    answer = await running.stranger.post(RESPONSES, json=raw)
    assert answer.status_code == 422


async def test_a_repeated_key_makes_one_screen(running: World) -> None:
    first = await post(running, response(), Idempotency_Key="k-1")
    again = await post(running, response(), Idempotency_Key="k-1")
    assert again.status_code == 201
    assert again.headers["location"] == first.headers["location"]
    assert again.headers["idempotency-replayed"] == "true"
    other = await post(running, response("H-2"), Idempotency_Key="k-1")
    assert other.status_code == 422
    assert await count(running) == 1


async def test_if_none_exist_creates_once(running: World) -> None:
    first = await post(running, {**response(), **NAMED}, If_None_Exist=ASKED)
    assert first.status_code == 201
    assert (await kept(running, first))["screen"]["content"]["source_id"] == "urn:sender|F 7"
    again = await post(running, {**response("H-2"), **NAMED}, If_None_Exist=ASKED)
    assert again.status_code == 200
    assert again.headers["location"] == first.headers["location"]
    assert again.json()["id"] == first.json()["id"]
    assert await count(running) == 1


async def test_a_response_without_identifier_gets_the_one_it_is_looked_for_by(
    running: World,
) -> None:
    await post(running, response(), If_None_Exist=ASKED)
    again = await post(running, response(), If_None_Exist=ASKED)
    assert again.status_code == 200
    assert await count(running) == 1


async def test_of_many_at_once_with_one_identifier_one_is_kept(running: World) -> None:
    answers = await asyncio.gather(
        *(
            post(running, {**response(f"H-{number % 2}"), **NAMED}, If_None_Exist=ASKED)
            for number in range(8)
        )
    )
    assert sorted({answer.status_code for answer in answers}) == [200, 201]
    assert len({answer.headers["location"] for answer in answers}) == 1
    assert await count(running) == 1


@pytest.mark.parametrize(
    "condition",
    [
        "patient=1",
        "identifier=F7",
        "identifier=a%7Cb&identifier=c%7Cd",
        "nonsense",
        "identifier=urn%3Aother%7CF7",
        "identifier=https%3A%2F%2Fstanchion.example%2Ffhir%2Fidentifier%2Fscreen%7C1",
    ],
)
async def test_a_condition_that_cannot_be_kept_to_is_a_bad_request(
    running: World, condition: str
) -> None:
    answer = await post(running, {**response(), **NAMED}, If_None_Exist=condition)
    assert answer.status_code == 400
    assert await count(running) == 0


async def test_the_senders_identifier_belongs_to_one_screen(running: World) -> None:
    await post(running, {**response(), **NAMED})
    same = await post(running, {**response(), **NAMED})
    assert (same.status_code, same.headers["idempotency-replayed"]) == (201, "true")
    other = await post(running, {**response("H-2"), **NAMED})
    assert other.status_code == 409
    assert issues(other) == [("QuestionnaireResponse.identifier", "source_id.taken")]


async def test_an_id_of_ours_cannot_be_given_to_a_new_response(running: World) -> None:
    first = await post(running, response())
    again = await post(running, first.json())
    assert again.status_code == 422
    assert issues(again) == [("QuestionnaireResponse.identifier", "form.identifier")]


async def test_the_item_source_id_must_be_what_is_looked_for(running: World) -> None:
    raw = response()
    raw["item"].append({"linkId": "source_id", "answer": [{"valueString": "other"}]})
    answer = await post(running, raw, If_None_Exist=ASKED)
    assert answer.status_code == 422
    number = len(raw["item"]) - 1
    assert issues(answer) == [(f"QuestionnaireResponse.item[{number}].answer[0]", "form.disagrees")]


@asynccontextmanager
async def writer(running: World) -> AsyncIterator[httpx.AsyncClient]:
    """Somebody of the same organisation who may create responses and read nothing."""
    ((org,), *_) = sql_of(running.database, "SELECT org FROM organisation WHERE name = 'Harbour'")
    scopes = ("system/QuestionnaireResponse.c",)
    key = create_key(running.database, running.clock, org, "writer", scopes=scopes).key
    async with client_of(running.app, key) as one:
        yield one


async def test_what_was_found_is_not_shown_to_whom_it_may_not_be_read_by(running: World) -> None:
    first = await post(running, {**response(), **NAMED})
    asked = {**SENT, "If-None-Exist": ASKED}
    other = json_of({**response("H-2"), **NAMED})
    async with writer(running) as one:
        found = await one.post(RESPONSES, content=other, headers=asked)
        assert (found.status_code, found.content) == (200, b"")
        assert found.headers["location"] == first.headers["location"]
        made = await one.post(RESPONSES, content=json_of(response("H-3")), headers=SENT)
        assert made.json()["resourceType"] == "QuestionnaireResponse"
        whole = {**SENT, "Prefer": "return=representation"}
        named = {**response(), **NAMED}
        raw = bundle(entry(named, "POST", "QuestionnaireResponse", ifNoneExist=ASKED))
        for kind in ("batch", "transaction"):
            answer = await one.post(BASE, content=json_of({**raw, "type": kind}), headers=whole)
            (told,) = answer.json()["entry"]
            assert told["response"]["status"] == "200 OK"
            assert "resource" not in told


async def test_who_may_not_read_patients_learns_nothing_of_them(running: World) -> None:
    mara = (await running.post(screen("H-1")))["screen"]["patient_id"]
    subject = {"subject": {"reference": f"Patient/{mara}"}}
    async with writer(running) as one:
        blind = await one.post(
            RESPONSES, content=json_of({**without_person(), **subject}), headers=SENT
        )
        assert ("QuestionnaireResponse.subject.reference", "form.reference") in issues(blind)
        other = await one.post(
            RESPONSES, content=json_of({**response("H-2"), **subject}), headers=SENT
        )
        assert issues(other) == [("QuestionnaireResponse.subject", "form.disagrees")]
        good = await one.post(
            RESPONSES, content=json_of({**response("H-1"), **subject}), headers=SENT
        )
        assert good.status_code == 201
