"""Can the clients of others read, search, page, write and be refused, and be told what is so?"""

from urllib.parse import urlsplit

import pytest

from tests.clients.driver import Document, Driver, Refused
from tests.clients.ward import (
    SCREENS_OF_MARA,
    Ward,
    amended,
    answers_of,
    item_of,
    new_person,
    transaction,
)


def link(page: Document, relation: str) -> str | None:
    urls = [one["url"] for one in page["link"] if one["relation"] == relation]
    assert len(urls) <= 1
    return urls[0] if urls else None


def issue(refused: Refused) -> Document:
    assert refused.document is not None
    assert refused.document["resourceType"] == "OperationOutcome"
    first: Document = refused.document["issue"][0]
    assert first["severity"] == "error"
    return first


def test_the_capability_statement_is_read(driver: Driver, ward: Ward) -> None:
    found = driver.metadata()

    assert (found["resourceType"], found["fhirVersion"]) == ("CapabilityStatement", "4.0.1")
    assert found["implementation"]["url"] == ward.place.base
    (rest,) = found["rest"]
    served = {one["type"] for one in rest["resource"]}
    assert {"Patient", "Observation", "CarePlan", "QuestionnaireResponse"} <= served
    assert {"code": "transaction"} in rest["interaction"]


def test_a_screen_and_its_plan_are_read(driver: Driver, ward: Ward) -> None:
    answer = ward.mara[-1]
    response = driver.read("QuestionnaireResponse", ward.newest)
    plan = driver.read("CarePlan", answer["plan"]["id"])

    assert response["status"] == "completed"
    assert response["subject"]["identifier"]["value"] == "C-1"
    assert response["meta"]["versionId"] == "1"
    assert plan["status"] == "active"
    descriptions = [one["detail"]["description"] for one in plan["activity"]]
    assert len(descriptions) == len(answer["plan"]["moves"]) > 0
    assert all(descriptions)


@pytest.mark.parametrize("kind", ["Patient", "Observation", "CarePlan", "QuestionnaireResponse"])
def test_what_is_not_there_is_refused_as_not_found(driver: Driver, kind: str) -> None:
    with pytest.raises(Refused) as refused:
        driver.read(kind, "00000000-0000-4000-8000-00000000dead")

    assert refused.value.status == 404
    assert issue(refused.value)["code"] == "not-found"


def test_a_search_of_three_pages_gives_each_match_once(driver: Driver, ward: Ward) -> None:
    query = {"patient": ward.patient, "_count": "2"}
    pages = driver.pages("QuestionnaireResponse", query)

    entries = [page["entry"] for page in pages]
    assert [len(each) for each in entries] == [2, 2, 1]
    found = [entry["resource"]["id"] for each in entries for entry in each]
    assert sorted(found) == sorted(answer["screen"]["id"] for answer in ward.mara)
    assert {entry["search"]["mode"] for each in entries for entry in each} == {"match"}
    for page in pages:
        assert page["type"] == "searchset"
        assert page["total"] == SCREENS_OF_MARA
        assert link(page, "self")


def test_every_next_is_absolute_and_says_nobody(driver: Driver, ward: Ward) -> None:
    query = {"patient.identifier": "urn:oid:2.999.7|C-1", "_count": "2"}
    pages = driver.pages("QuestionnaireResponse", query)

    *going_on, last = [link(page, "next") for page in pages]
    assert len(going_on) == 2
    assert last is None
    for url in going_on:
        assert url is not None
        assert url.startswith(f"{ward.place.base}/")
        assert "C-1" not in urlsplit(url).query


def test_a_search_that_finds_nothing_is_an_empty_page(driver: Driver) -> None:
    query = {"patient": "00000000-0000-4000-8000-00000000dead"}
    (page,) = driver.pages("Observation", query)

    assert (page["resourceType"], page["type"], page["total"]) == ("Bundle", "searchset", 0)
    assert "entry" not in page
    assert link(page, "next") is None


def test_a_screen_is_created_and_its_plan_found(driver: Driver) -> None:
    person = new_person()
    kept = driver.create(answers_of(person))

    assert (kept["resourceType"], kept["status"]) == ("QuestionnaireResponse", "completed")
    assert kept["meta"]["versionId"] == "1"
    assert driver.read("QuestionnaireResponse", kept["id"]) == kept
    patient = kept["subject"]["reference"].removeprefix("Patient/")
    (page,) = driver.pages("CarePlan", {"patient": patient})
    (entry,) = page["entry"]
    assert entry["resource"]["status"] == "active"
    assert entry["resource"]["subject"]["identifier"]["value"] == person


def test_a_change_of_a_version_that_is_not_the_last_is_refused(driver: Driver) -> None:
    kept = driver.create(answers_of(new_person()))
    changed = amended(kept)
    with pytest.raises(Refused) as refused:
        driver.update(changed, 'W/"7"')

    assert refused.value.status == 412
    assert issue(refused.value)["code"] == "conflict"
    assert driver.read("QuestionnaireResponse", kept["id"]) == kept

    again = driver.update(changed, 'W/"1"')
    assert (again["meta"]["versionId"], again["status"]) == ("2", "amended")
    sat = item_of(again, "stages.sitting_balance.seconds")
    assert sat["answer"][0]["valueQuantity"]["value"] == 45
    assert driver.read("QuestionnaireResponse", kept["id"]) == again


def test_a_transaction_keeps_every_screen_of_it(driver: Driver, ward: Ward) -> None:
    before = ward.responses()
    persons = [new_person(), new_person()]
    sent = transaction(
        *[("POST", "QuestionnaireResponse", answers_of(person)) for person in persons]
    )
    answer = driver.transaction(sent)

    assert (answer["resourceType"], answer["type"]) == ("Bundle", "transaction-response")
    responses = [entry["response"] for entry in answer["entry"]]
    assert [one["status"][:3] for one in responses] == ["201", "201"]
    for one, person in zip(responses, persons, strict=True):
        address, _, version = one["location"].partition("/_history/")
        assert version == "1"
        kept = driver.read("QuestionnaireResponse", address.rpartition("/")[2])
        assert kept["subject"]["identifier"]["value"] == person
        assert one["etag"] == 'W/"1"'
    assert ward.responses() == before + 2


def test_a_transaction_with_one_fault_keeps_nothing(driver: Driver, ward: Ward) -> None:
    before = ward.responses()
    faulty = answers_of(new_person())
    item_of(faulty, "readiness.rass")["answer"] = [{"valueInteger": 9}]
    sent = transaction(
        ("POST", "QuestionnaireResponse", answers_of(new_person())),
        ("POST", "QuestionnaireResponse", faulty),
    )
    with pytest.raises(Refused) as refused:
        driver.transaction(sent)

    assert issue(refused.value)["expression"][0].startswith("Bundle.entry[1].resource")
    assert ward.responses() == before
