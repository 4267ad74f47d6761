"""What does the SMART client of Node ask for that no other client does, and does it get it?"""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.clients.driver import Refused
from tests.clients.node_driver import NodeDriver
from tests.clients.node_install import node
from tests.clients.ward import Ward, answers_of, new_person


@pytest.fixture(scope="module")
def smart(ward: Ward, installed: Path) -> Iterator[NodeDriver]:
    one = NodeDriver(ward.place, installed, node(), "smart.mjs")
    yield one
    one.close()


def test_references_are_resolved_in_their_places(smart: NodeDriver, ward: Ward) -> None:
    asked = {"resourceType": "CarePlan", "id": ward.mara[-1]["plan"]["id"]}
    plan = smart.order("resolved", **asked, paths=["subject"])

    assert plan["resourceType"] == "CarePlan"
    assert (plan["subject"]["resourceType"], plan["subject"]["id"]) == ("Patient", ward.patient)


def test_a_create_says_where_the_response_is(smart: NodeDriver, ward: Ward) -> None:
    made = smart.order("create", body=answers_of(new_person()))

    address = f"{ward.place.base}/QuestionnaireResponse/{made['document']['id']}/_history/1"
    assert (made["status"], made["headers"]["location"]) == (201, address)


@pytest.mark.parametrize("act", ["patch", "remove"])
def test_what_cannot_be_done_is_refused_with_an_outcome(
    smart: NodeDriver, ward: Ward, act: str
) -> None:
    operation = {"op": "replace", "path": "/status", "value": "amended"}
    asked = {"resourceType": "QuestionnaireResponse", "id": ward.newest, "jsonPatch": [operation]}
    with pytest.raises(Refused) as refused:
        smart.order(act, **asked)

    assert refused.value.status == 405
    assert refused.value.document is not None
    assert refused.value.document["issue"][0]["code"] == "not-supported"
