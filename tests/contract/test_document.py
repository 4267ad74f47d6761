"""Does the running service keep every promise of its document, whatever is sent to it?

Every check of the fuzzer runs on every operation. One is replaced by a stricter one of our own:
``positive_data_acceptance`` asks that whatever fits the schema is accepted, but JSON Schema
cannot say that two fields contradict each other (``sense.…``), how many decimals a number may
be written with (``shape.decimals``), or that an id exists. Such a refusal must name one of the
documented reasons, and nothing else may refuse what fits.
"""

import json
import re
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, settings
from schemathesis.checks import CheckContext
from schemathesis.core.result import Ok
from schemathesis.specs.openapi.checks import positive_data_acceptance

from service.domain.sense_rules import RULES
from service.web.document import document
from service.web.etag import ANY_TAG
from service.web.routes import OPERATIONS
from tests.system.server import Server

api = schemathesis.openapi.from_dict(document())
# a missing If-Match has a status of its own
api.config.checks.missing_required_header.expected_statuses.append("428")
# a version that is not the stored one is refused before the body is looked at
api.config.checks.negative_data_rejection.expected_statuses.append("412")

# no schema can say these
BEYOND_SCHEMA = {*RULES, "shape.decimals", "correction.unchanged", "merge.self", "cursor.unknown"}
# what fits may still name something that is not there, or a version that is not the stored one
NOT_THERE = {404, 412}


@schemathesis.check
def refused_for_a_documented_reason(
    _context: CheckContext,
    response: schemathesis.Response,
    case: schemathesis.Case[Any],
) -> None:
    """What fits the schema is accepted, or refused by a rule that no schema can say."""
    positive = case.meta is not None and case.meta.generation.mode.is_positive
    if (
        not positive
        or not if_match_fits(case)
        or response.status_code < 400
        or response.status_code in NOT_THERE
    ):
        return
    assert response.status_code == 422, f"{response.status_code}: {response.text}"
    told: dict[str, Any] = response.json()
    if told.get("resourceType") == "OperationOutcome":
        rules = {coding["code"] for issue in told["issue"] for coding in codings(issue)}
    else:
        rules = {fault["rule"] for fault in told.get("faults", ())}
    if not rules and "Idempotency-Key" in (case.headers or {}):
        return  # the fuzzer sends one key with many bodies; that the text of the key forbids
    assert rules, told
    assert rules <= BEYOND_SCHEMA, f"not a documented reason: {rules - BEYOND_SCHEMA}"


def if_match_fits(case: schemathesis.Case[Any]) -> bool:
    """When it combines optional headers the fuzzer fills this one without regard to its
    pattern, and calls that fitting."""
    headers: Any = case.headers or {}
    sent = headers.get("If-Match")
    return sent is None or re.search(ANY_TAG, sent) is not None


def codings(issue: dict[str, Any]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = issue.get("details", {}).get("coding", [])
    return found


@api.parametrize()
@settings(
    max_examples=10,
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_the_service_keeps_what_the_document_says(
    case: schemathesis.Case[Any], server: Server
) -> None:
    case.call_and_validate(
        base_url=server.base,
        headers={"Authorization": f"Bearer {server.key}", "X-API-Key": server.key},
        additional_checks=[refused_for_a_documented_reason],
        excluded_checks=[positive_data_acceptance],
        timeout=30,
    )


def test_the_fuzzer_found_every_operation() -> None:
    found = {result.ok().label for result in api.get_all_operations() if isinstance(result, Ok)}
    assert found == {f"{one.method} {one.path}" for one in OPERATIONS}


def test_the_served_document_is_the_one_that_was_fuzzed(server: Server) -> None:
    assert server.client.get("/openapi.json").json() == json.loads(json.dumps(document()))


@pytest.mark.parametrize("name", ["standing_ward_patient", "fallen_resident"])
def test_each_example_of_a_screen_is_recorded_as_printed(server: Server, name: str) -> None:
    operation = document()["paths"]["/v1/screens"]["post"]
    content = operation["requestBody"]["content"]["application/json"]
    response = server.client.post("/v1/screens", json=content["examples"][name]["value"])
    assert response.status_code == 201, response.text
