"""Is a transaction kept as a whole or not at all, and answered entry for entry?"""

from typing import Any

from tests.fhir.responses import Raw, answer_of, kilograms
from tests.storage.made import sql_of
from tests.web.fhir.bad_entries import BAD, REFERRED, bad_unit, child, posted
from tests.web.fhir.posted import (
    ABSOLUTE,
    BASE,
    SYSTEM,
    URN,
    bundle,
    count,
    created,
    entry,
    issues,
    person,
    post,
    response,
    without_person,
)
from tests.web.world import World, screen

BY_NUMBER = "identifier=urn%3Aoid%3A2.999.7%7CH-"
TABLES = ("screen", "plan", "plan_event", "patient", "patient_id", "idempotency")
WITH_PATIENT = (
    entry(person("H-7"), "POST", "Patient", f"{URN}1"),
    entry({**without_person(), **REFERRED}, "POST", "QuestionnaireResponse", f"{URN}2"),
)


def held(running: World) -> dict[str, list[Any]]:
    return {table: sql_of(running.database, f"SELECT * FROM {table}") for table in TABLES}  # noqa: S608


async def told(running: World, *entries: Raw, **headers: str) -> list[Raw]:
    answer = await post(running, bundle(*entries), BASE, **headers)
    assert answer.status_code == 200, answer.text
    body: Raw = answer.json()
    assert (body["resourceType"], body["type"]) == ("Bundle", "transaction-response")
    found: list[Raw] = body["entry"]
    return found


async def test_each_entry_is_answered_with_its_own_place(running: World) -> None:
    first, second = await told(running, created("H-1"), created("H-2", f"{URN}1"))
    for one in (first, second):
        assert one["response"]["status"] == "201 Created"
        assert one["response"]["etag"] == 'W/"1"'
        assert one["response"]["location"].startswith(f"{ABSOLUTE}/QuestionnaireResponse/")
        assert one["response"]["location"].endswith("/_history/1")
        assert "resource" not in one
    assert await count(running) == 2


async def test_prefer_says_what_comes_back_in_each_entry(running: World) -> None:
    (whole,) = await told(running, created("H-1"), Prefer="return=representation")
    assert whole["resource"]["resourceType"] == "QuestionnaireResponse"
    assert whole["response"]["location"].startswith(whole["fullUrl"])
    (ids,) = await told(running, created("H-2"), Prefer="return=OperationOutcome")
    assert ids["response"]["outcome"]["resourceType"] == "OperationOutcome"


async def test_a_patient_beside_its_response_says_who_it_is(running: World) -> None:
    patient, made = await told(running, *WITH_PATIENT, Prefer="return=representation")
    subject = made["resource"]["subject"]
    assert patient["response"]["status"] == "201 Created"
    assert patient["response"]["location"] == f"{ABSOLUTE}/{subject['reference']}"
    assert subject["identifier"] == {"system": SYSTEM, "value": "H-7"}
    assert "urn:uuid" not in str(made)
    native = await running.client.get(f"/v1/screens/{made['resource']['id']}")
    who = native.json()["screen"]["content"]["patient"]
    assert who["birth_date"] == "1948-03-02"
    assert who["name"] == {"family": "Aldous", "given": "Mara Jo"}
    again, _ = await told(running, *WITH_PATIENT)
    assert again["response"]["status"] == "200 OK"


async def test_a_reference_is_read_at_the_place_of_its_entry(running: World) -> None:
    raw = {**without_person(), "subject": {"reference": "Patient/9"}}
    root = "http://ehr.example/fhir"
    _, made = await told(
        running,
        entry(
            person("H-7"),
            "PUT",
            "Patient?identifier=urn%3Aoid%3A2.999.7%7CH-7",
            f"{root}/Patient/9",
        ),
        entry(raw, "POST", "QuestionnaireResponse", f"{root}/QuestionnaireResponse/1"),
        Prefer="return=representation",
    )
    assert made["resource"]["subject"]["identifier"]["value"] == "H-7"


async def test_a_patient_can_be_referred_to_by_query(running: World) -> None:
    known = (await running.post(screen("H-1")))["screen"]["patient_id"]
    asked = {"reference": "Patient?identifier=urn%3Aoid%3A2.999.7%7CH-1"}
    raw = {**response(), "subject": asked}
    (made,) = await told(
        running, entry(raw, "POST", "QuestionnaireResponse"), Prefer="return=representation"
    )
    assert made["resource"]["subject"]["reference"] == f"Patient/{known}"
    nobody = {**without_person(), "subject": {"reference": "Patient?identifier=urn%3Ax%7C1"}}
    answer = await post(running, bundle(entry(nobody, "POST", "QuestionnaireResponse")), BASE)
    place = "Bundle.entry[0].resource.subject.reference"
    assert (place, "form.reference") in issues(answer)


async def test_creates_corrections_and_withdrawals_go_together(running: World) -> None:
    wrong = (await post(running, response("H-1"))).json()
    mended = (await post(running, response("H-2"))).json()
    answer_of(mended, "patient.mass_kg")["valueQuantity"] = kilograms("80")
    gone = {**wrong, "status": "entered-in-error"}
    made, changed, withdrawn = await told(
        running,
        created("H-3"),
        entry(mended, "PUT", f"QuestionnaireResponse/{mended['id']}", ifMatch='W/"1"'),
        entry(gone, "PUT", f"QuestionnaireResponse/{wrong['id']}", ifMatch='W/"1"'),
    )
    statuses = [one["response"]["status"] for one in (made, changed, withdrawn)]
    assert statuses == ["201 Created", "200 OK", "200 OK"]
    assert changed["response"]["etag"] == withdrawn["response"]["etag"] == 'W/"2"'


async def test_reads_in_a_transaction_see_what_it_wrote(running: World) -> None:
    raw = {**response(), "identifier": {"system": "urn:sender", "value": "1"}}
    asked = "QuestionnaireResponse?identifier=urn%3Asender%7C1"
    read, made = await told(
        running, entry(None, "GET", asked), entry(raw, "POST", "QuestionnaireResponse")
    )
    assert made["response"]["status"] == "201 Created"
    assert read["response"]["status"] == "200 OK"
    (seen,) = read["resource"]["entry"]
    assert seen["resource"]["id"] in made["response"]["location"]


async def test_a_read_that_fails_leaves_nothing_of_the_transaction(running: World) -> None:
    await running.post(screen("H-0"))
    before = held(running)
    place = "Bundle.entry[1].request.url"
    for asked, status, rule in (
        ("CarePlan/nowhere", 404, "bundle.not_found"),
        ("Nowhere", 404, "bundle.not_found"),
        ("CarePlan?date=soon", 400, "bundle.condition"),
        ("CarePlan?_format=xml", 400, "bundle.condition"),
    ):
        answer = await post(running, bundle(created("H-1"), entry(None, "GET", asked)), BASE)
        assert (answer.status_code, issues(answer)) == (status, [(place, rule)]), asked
        assert held(running) == before
    both = (entry(None, "GET", "CarePlan?date=soon"), entry(None, "DELETE", "CarePlan/1"))
    answer = await post(running, bundle(*both), BASE)
    assert [rule for _, rule in issues(answer)] == ["bundle.method"]
    held_already = entry(None, "GET", "metadata")
    assert (await told(running, held_already))[0]["response"]["status"] == "200 OK"


async def test_a_repeated_key_gives_the_same_answer_and_another_bundle_is_refused(
    running: World,
) -> None:
    both = (created("H-1"), created("H-2"))
    first = await told(running, *both, Idempotency_Key="k")
    assert await told(running, *both, Idempotency_Key="k") == first
    assert await count(running) == 2
    other = await post(running, bundle(created("H-1"), created("H-3")), BASE, Idempotency_Key="k")
    assert other.status_code == 422
    assert {rule for _, rule in issues(other)} == {"bundle.key_reused"}
    assert await count(running) == 2


async def test_if_none_exist_finds_what_is_there(running: World) -> None:
    condition = "identifier=urn%3Asender%7CF7"
    (made,) = await told(running, created("H-1", ifNoneExist=condition))
    found, other = await told(running, created("H-1", ifNoneExist=condition), created("H-2"))
    assert found["response"]["status"] == "200 OK"
    assert found["response"]["location"] == made["response"]["location"]
    assert other["response"]["status"] == "201 Created"


async def test_a_bad_entry_leaves_nothing_of_the_transaction(running: World) -> None:
    await running.post(screen("H-0"))
    before = held(running)
    for name, (entries, status, expected) in BAD.items():
        answer = await post(running, bundle(created("H-1", f"{URN}0"), *entries), BASE)
        assert answer.status_code == status, (name, answer.text)
        assert expected in issues(answer), name
        assert held(running) == before, name


async def test_a_conflict_at_the_last_moment_leaves_nothing(running: World) -> None:
    taken = {"identifier": {"system": "urn:sender", "value": "1"}}
    await post(running, {**response("H-1"), **taken})
    before = held(running)
    answer = await post(running, bundle(created("H-2"), posted({**response("H-3"), **taken})), BASE)
    assert answer.status_code == 409
    assert issues(answer) == [("Bundle.entry[1].resource.identifier", "source_id.taken")]
    assert held(running) == before


async def test_the_faults_of_all_entries_are_told_at_once(running: World) -> None:
    answer = await post(
        running,
        bundle(posted(child()), posted(bad_unit()), entry(None, "DELETE", "Patient/1")),
        BASE,
    )
    assert {rule for _, rule in issues(answer)} == {"form.unit", "bundle.method"}
    sense = await post(running, bundle(posted(child()), posted(child())), BASE)
    assert [place.partition("]")[0] for place, _ in issues(sense)] == [
        "Bundle.entry[0",
        "Bundle.entry[1",
    ]


async def test_a_dangling_subject_is_told_once(running: World) -> None:
    raw = {**without_person(), "subject": {"reference": f"{URN}9"}}
    answer = await post(running, bundle(created("H-1", f"{URN}0"), posted(raw)), BASE)
    place = "Bundle.entry[1].resource.subject.reference"
    assert (answer.status_code, issues(answer)) == (422, [(place, "bundle.unresolved")])


async def test_an_empty_transaction_is_answered_empty(running: World) -> None:
    answer = await post(running, {"resourceType": "Bundle", "type": "transaction"}, BASE)
    assert answer.json() == {"resourceType": "Bundle", "type": "transaction-response"}


async def test_updates_by_identifier_and_by_id_hold_to_their_conditions(running: World) -> None:
    by_name = "QuestionnaireResponse?identifier=urn%3Asender%7C1"
    raw = {**response("H-1"), "identifier": {"system": "urn:sender", "value": "1"}}
    (made,) = await told(running, entry(raw, "PUT", by_name))
    assert made["response"]["status"] == "201 Created"
    answer_of(raw, "patient.mass_kg")["valueQuantity"] = kilograms("80")
    (changed,) = await told(running, entry(raw, "PUT", by_name))
    assert changed["response"]["etag"] == 'W/"2"'
    other = {**raw, "id": "other"}
    stale = await post(running, bundle(entry(raw, "PUT", by_name, ifMatch='W/"1"')), BASE)
    assert (stale.status_code, issues(stale)[0][1]) == (412, "bundle.stale")
    for bad in (
        entry(other, "PUT", by_name),
        entry(raw, "PUT", "QuestionnaireResponse/other", ifMatch='W/"1"'),
    ):
        answer = await post(running, bundle(bad), BASE)
        assert (answer.status_code, issues(answer)[0][1]) == (400, "bundle.condition")
