"""What does fhir-kit-client ask for that no other client does, and does it get it?"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.clients.driver import Refused
from tests.clients.node_driver import NodeDriver
from tests.clients.node_install import node
from tests.clients.ward import Ward, amended, answers_of, new_person, transaction


@pytest.fixture(scope="module")
def kit(ward: Ward, installed: Path) -> Iterator[NodeDriver]:
    one = NodeDriver(ward.place, installed, node(), "kit.mjs")
    yield one
    one.close()


def test_a_search_by_post_pages_as_one_by_get(kit: NodeDriver, ward: Ward) -> None:
    asked = {"resourceType": "Observation", "searchParams": {"patient": ward.patient, "_count": 50}}
    by_get = kit.order("pages", **asked)
    by_post = kit.order("pages", **asked, post=True)

    ids = [[entry["resource"]["id"] for page in pages for entry in page["entry"]]
           for pages in (by_get, by_post)]  # fmt: skip
    assert ids[0] == ids[1]
    assert len(ids[0]) == len(set(ids[0])) == by_get[0]["total"]


def test_versions_are_listed_and_read(kit: NodeDriver) -> None:
    made = kit.order("create", body=answers_of(new_person()))["document"]
    asked = {"resourceType": "QuestionnaireResponse", "id": made["id"]}
    second = kit.order("update", body=amended(made), headers={"If-Match": 'W/"1"'})

    history = kit.order("history", **asked)
    assert (history["type"], history["total"]) == ("history", 2)
    assert [entry["resource"] for entry in history["entry"]] == [second, made]
    assert [entry["request"]["method"] for entry in history["entry"]] == ["PUT", "POST"]
    assert kit.order("vread", **asked, version="1") == made
    assert kit.order("vread", **asked, version="2") == second


def test_references_within_the_server_are_resolved(kit: NodeDriver, ward: Ward) -> None:
    plan = kit.read("CarePlan", ward.mara[-1]["plan"]["id"])

    found = kit.order("resolve", reference=plan["subject"]["reference"])
    assert (found["resourceType"], found["id"]) == ("Patient", ward.patient)
    for reference in plan["supportingInfo"]:
        found = kit.order("resolve", reference=reference["reference"].partition("/_history/")[0])
        assert found["resourceType"] == reference["reference"].partition("/")[0]


def test_a_create_says_where_the_response_is(kit: NodeDriver, ward: Ward) -> None:
    made = kit.order("create", body=answers_of(new_person()))

    address = f"{ward.place.base}/QuestionnaireResponse/{made['document']['id']}/_history/1"
    assert made["status"] == 201
    assert made["headers"]["location"] == address
    assert made["headers"]["etag"] == 'W/"1"'
    assert made["headers"]["content-type"].startswith("application/fhir+json")


def test_an_update_by_query_of_none_makes_one_and_of_one_changes_it(kit: NodeDriver) -> None:
    own = {"system": "urn:oid:2.999.20", "value": new_person()}
    first = answers_of(new_person(), identifier=own)
    asked = {"searchParams": {"identifier": f"{own['system']}|{own['value']}"}}

    made = kit.order("update_where", body=first, **asked)
    changed = kit.order("update_where", body=amended(first), **asked)

    assert [made["status"], changed["status"]] == [201, 200]
    assert changed["document"]["id"] == made["document"]["id"]
    assert changed["document"]["meta"]["versionId"] == "2"


def test_the_operation_answers_with_everything_a_screen_makes(kit: NodeDriver) -> None:
    bundle = kit.order("operation", name="$screen", input=answers_of(new_person()))

    assert (bundle["resourceType"], bundle["type"]) == ("Bundle", "collection")
    kinds = {entry["resource"]["resourceType"] for entry in bundle["entry"]}
    assert {"Patient", "QuestionnaireResponse", "Observation", "CarePlan", "Provenance"} <= kinds


def test_a_batch_answers_each_on_its_own(kit: NodeDriver, ward: Ward) -> None:
    before = ward.responses()
    bad = {**answers_of(new_person()), "status": "in-progress"}
    sent = transaction(
        ("POST", "QuestionnaireResponse", answers_of(new_person())),
        ("POST", "QuestionnaireResponse", bad),
    )
    answer = kit.order("batch", body={**sent, "type": "batch"})

    assert answer["type"] == "batch-response"
    statuses = [entry["response"]["status"][:3] for entry in answer["entry"]]
    assert statuses == ["201", "422"]
    assert answer["entry"][1]["response"]["outcome"]["issue"][0]["severity"] == "error"
    assert ward.responses() == before + 1


@pytest.mark.parametrize("act", ["patch", "remove"])
def test_what_cannot_be_done_is_refused_with_an_outcome(
    kit: NodeDriver, ward: Ward, act: str
) -> None:
    with pytest.raises(Refused) as refused:
        kit.order(act, resourceType="QuestionnaireResponse", id=ward.newest, jsonPatch=[])

    assert refused.value.status == 405
    assert refused.value.document is not None
    assert refused.value.document["issue"][0]["code"] == "not-supported"
