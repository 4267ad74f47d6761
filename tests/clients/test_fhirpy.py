"""What does fhirpy ask for that no other client does, and does it get it?"""

from collections.abc import Iterator
from typing import Any

import pytest
from fhirpy.base.exceptions import (
    MultipleResourcesFound,
    OperationOutcome,
    ResourceNotFound,
)

from tests.clients.driver import Document
from tests.clients.fhirpy_async import FhirpyAsync
from tests.clients.fhirpy_sync import FhirpySync, plain
from tests.clients.ward import PERSONS, SCREENS_OF_MARA, Ward, amended, answers_of, new_person


@pytest.fixture(scope="module")
def client(ward: Ward) -> Any:
    return FhirpySync(ward.place).client


def held(client: Any, resource: Document) -> Any:
    """``resource`` as one of the client's own."""
    return client.resource(resource["resourceType"], **resource)


def test_it_counts_with_a_count_of_zero_and_a_parameter_of_its_own(ward: Ward, client: Any) -> None:
    found = client.resources("QuestionnaireResponse").search(patient=ward.patient)

    assert found.count() == SCREENS_OF_MARA
    assert client.resources("CarePlan").search(patient=ward.patient, status="active").count() == 1


def test_it_takes_the_first_and_the_only_one(ward: Ward, client: Any) -> None:
    responses = client.resources("QuestionnaireResponse").search(patient=ward.patient)

    assert responses.sort("-_lastUpdated").first()["id"] == ward.newest
    assert responses.search(_id=ward.newest).get()["id"] == ward.newest
    with pytest.raises(MultipleResourcesFound):
        responses.get()
    with pytest.raises(ResourceNotFound):
        responses.search(_id="none").get()


def test_a_reference_leads_to_its_resource(ward: Ward, client: Any) -> None:
    response = client.get("QuestionnaireResponse", ward.newest)
    patient = client.reference(reference=response["subject"]["reference"]).to_resource()

    assert patient["resourceType"] == "Patient"
    assert [one["value"] for one in patient["identifier"]] == ["C-1"]


def test_what_it_holds_is_still_the_last_version(ward: Ward, client: Any) -> None:
    plan = held(client, client.get("CarePlan", ward.mara[-1]["plan"]["id"]))
    before = plain(plan)

    assert plain(plan.refresh()) == before


def test_a_response_is_updated_by_its_identifier_made_the_first_time(
    client: Any,
) -> None:
    own = {"system": "urn:oid:2.999.20", "value": new_person()}
    first = answers_of(new_person(), identifier=own)
    query = f"{own['system']}|{own['value']}"
    responses = client.resources("QuestionnaireResponse").search(identifier=query)

    made, was_made = responses.update(held(client, first))
    changed, was_made_again = responses.update(held(client, amended(first)))

    assert (was_made, was_made_again) == (True, False)
    assert made["id"] == changed["id"]
    assert [one["meta"]["versionId"] for one in (made, changed)] == ["1", "2"]
    assert responses.count() == 1
    assert responses.get()["status"] == "amended"


def test_a_good_response_is_valid_and_a_bad_one_is_not(client: Any) -> None:
    good = answers_of(new_person())
    bad = {**good, "status": "done"}

    assert held(client, good).is_valid()
    assert not held(client, bad).is_valid()
    with pytest.raises(OperationOutcome):
        held(client, bad).is_valid(raise_exception=True)


def test_what_cannot_be_done_is_refused_with_an_outcome(ward: Ward, client: Any) -> None:
    plan = held(client, client.get("CarePlan", ward.mara[-1]["plan"]["id"]))
    for refused in (lambda: plan.patch(status="revoked"), plan.delete):
        with pytest.raises(OperationOutcome) as told:
            refused()
        assert told.value.resource["issue"][0]["code"] == "not-supported"


@pytest.fixture
def asynchronous(ward: Ward) -> Iterator[FhirpyAsync]:
    one = FhirpyAsync(ward.place)
    yield one
    one.close()


def test_it_counts_on_an_event_loop_too(ward: Ward, asynchronous: FhirpyAsync) -> None:
    async def count(client: Any) -> Any:
        return await client.resources("QuestionnaireResponse").search(patient=ward.patient).count()

    assert asynchronous._run(count) == SCREENS_OF_MARA  # type: ignore[comparison-overlap]


def test_a_person_is_found_by_identifier(client: Any, ward: Ward) -> None:
    found = client.resources("Patient").search(identifier=f"{PERSONS}|C-1").get()

    assert found["id"] == ward.patient
