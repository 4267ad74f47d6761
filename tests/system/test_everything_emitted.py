"""Is all that the running service sends over FHIR right by everybody who can look at it?"""

import asyncio
import json
import re
from collections import Counter
from collections.abc import Callable, Iterable
from typing import Any

import pytest

from service.web.fhir.routes import DEFINITIONS
from tests.clients.smart_python import strict
from tests.fhir.definitions.loaded import package_faults
from tests.fhir.own_checks import resource_faults
from tests.fhir.shapes import Shapes
from tests.fhir.validators import form_faults, official_faults, parse_faults, read
from tests.system.emitted import SAMPLES, Emitted, emitted, resources_in

# Counting the lines of so many answers triples the time and proves nothing.
pytestmark = pytest.mark.no_cover
Document = dict[str, Any]
# What is no record of a person: it needs no id, or it holds others' narratives.
STUB = {"resourceType", "id", "meta"}
NO_ID = ("Bundle", "OperationOutcome", "Parameters")


@pytest.fixture(scope="module")
def sent(tmp_path_factory: pytest.TempPathFactory) -> Emitted:
    return asyncio.run(emitted(tmp_path_factory.mktemp("emitted")))


@pytest.fixture(scope="module")
def resources(sent: Emitted) -> list[Document]:
    """Each that was sent, once."""
    once = {
        json.dumps(one, sort_keys=True): one
        for body in sent.bodies.values()
        for one in resources_in(body)
    }
    return list(once.values())


def test_every_request_is_answered_as_it_should_be(sent: Emitted) -> None:
    assert sent.lacking == []
    assert len(sent.bodies) > 300


def test_every_state_and_every_kind_is_among_them(resources: list[Document]) -> None:
    kinds = Counter(one["resourceType"] for one in resources)
    states = Counter((one["resourceType"], one["status"]) for one in resources if "status" in one)

    for kind in ("Patient", "Goal", "Flag", "Task", "Provenance", "Device", "OperationOutcome",
                 "CapabilityStatement", "Bundle", *DEFINITIONS):  # fmt: skip
        assert kinds[kind], kind
    for status in ("active", "revoked", "completed", "entered-in-error"):
        assert states["CarePlan", status], status
    for status in ("completed", "amended", "entered-in-error"):
        assert states["QuestionnaireResponse", status], status
    for status in ("final", "amended", "entered-in-error"):
        assert states["Observation", status], status
    assert kinds["Observation"] > 20 * len(SAMPLES)
    assert [one for one in resources if one["resourceType"] == "Patient" and one.get("link")]
    done = {
        one["activity"]["coding"][0]["code"]
        for one in resources
        if one["resourceType"] == "Provenance" and "activity" in one
    }
    assert done == {"screened", "corrected", "withdrawn", "overruled", "taken_back", "ended"}


def each(check: Callable[[Document], Iterable[str]], resources: list[Document]) -> list[str]:
    """What ``check`` finds, each once."""
    return sorted({fault for one in resources for fault in check(one)})[:10]


def test_the_official_definitions_and_our_profiles_hold(resources: list[Document]) -> None:
    """Definitions are looked at one by one in tests/fhir/definitions."""
    shapes = Shapes()
    new = [
        shaped
        for one in resources
        if one["resourceType"] not in DEFINITIONS and (shaped := shapes.unseen(one)) is not None
    ]
    assert each(official, new) == []
    assert each(by_our_profiles, new) == []


def official(resource: Document) -> list[str]:
    return not_of_stubs(resource, official_faults(resource))


def by_our_profiles(resource: Document) -> list[str]:
    return not_of_stubs(resource, package_faults(resource))


def not_of_stubs(resource: Document, faults: list[str]) -> list[str]:
    """In a Bundle stubs stand for the resources, which are looked at by themselves."""
    if resource["resourceType"] != "Bundle":
        return faults
    return [one for one in faults if re.match(r"Bundle(?!\S*resource)", one)]


def test_the_second_validator_finds_nothing(sent: Emitted) -> None:
    found = {fault for body in set(sent.bodies.values()) for fault in form_faults(body)}
    assert sorted(found)[:10] == []


def test_the_models_of_the_neighbouring_release_read_them(sent: Emitted) -> None:
    found = {fault for body in set(sent.bodies.values()) for fault in parse_faults(body)}
    assert sorted(found)[:10] == []


def test_the_strictest_client_reads_them(sent: Emitted) -> None:
    for body in set(sent.bodies.values()):
        strict(json.loads(body))


def test_our_own_checks_find_nothing(sent: Emitted) -> None:
    found = set()
    for body in set(sent.bodies.values()):
        for one in resources_in_exactly(body):
            found.update(resource_faults(one))
    assert sorted(found)[:10] == []


def resources_in_exactly(body: bytes) -> list[Document]:
    """As they stand, decimals with their digits; ids where one is needed."""
    document = read(body)
    members = [one["resource"] for one in document.get("entry", ()) if "resource" in one]
    found = members if document["resourceType"] == "Bundle" else [document]
    return [{"id": "none", **one} if one["resourceType"] in NO_ID else one for one in found]


def test_a_resource_is_the_same_by_every_address(sent: Emitted) -> None:
    """Read, listed, of its version and in its history."""
    seen: dict[tuple[str, str, str], str] = {}
    for asked, body in sent.bodies.items():
        for one in resources_in(body):
            if one["resourceType"] in ("Bundle", "CapabilityStatement"):
                continue
            if "versionId" not in one.get("meta", {}) or set(one) <= STUB:
                continue
            key = (one["resourceType"], one["id"], one["meta"]["versionId"])
            text = json.dumps(one, sort_keys=True)
            assert seen.setdefault(key, text) == text, f"{asked}: {key}"


def test_a_fault_in_a_bundle_is_seen_behind_its_stubs(sent: Emitted) -> None:
    body = next(body for body in sent.bodies.values() if b'"searchset"' in body)
    *_, bundle = resources_in(body)
    assert official(bundle) == []

    bundle["entry"][0]["search"] = {"mode": "found"}
    bundle["link"].append({"relation": "next"})

    found = official(bundle)
    assert any("mode" in fault for fault in found), found
    assert any("url" in fault for fault in found), found
