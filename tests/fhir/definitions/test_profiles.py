"""Does everything that leaves keep its profile, and does every promise refuse what breaks it?"""

import copy
import json
from typing import Any

import fhirpathpy
import pytest
from fhirpathpy.models import models

from service.demo.scenario import Sample, here
from service.demo.scenario import read as read_samples
from service.fhir.bundle import bundle_of
from service.fhir.definitions.examples import answer_to as example
from service.fhir.definitions.examples import examples, profile_shown
from service.fhir.definitions.extensions import OWN
from service.fhir.definitions.profiles import PROFILES
from service.fhir.encode import bytes_of
from service.fhir.validate import read_tree, validate
from service.fhir.validate_finding import Severity
from service.fhir.validate_ours import known_at
from tests.fhir.answers import SITE, STATES
from tests.fhir.definitions.broken_promises import BROKEN, Change
from tests.fhir.definitions.published import Json, of

KNOWN = known_at(SITE)
R4 = models["r4"]
SAMPLES = read_samples(here())
EXAMPLES: dict[str, Json] = {
    name: json.loads(bytes_of(one))
    for name, one in examples(SITE, [one.screen for one in SAMPLES]).items()
}
DEFINED = {
    name.removeprefix("stanchion-"): one
    for name, one in of("StructureDefinition").items()
    if name.startswith("stanchion-")
}


def faults(resource: Json) -> list[str]:
    found = validate(read_tree(json.dumps(resource).encode()), KNOWN)
    return [f"{one.path}: {one.text} {one.key}" for one in found if one.severity == Severity.ERROR]


def resources(answer: Any) -> list[Json]:
    return [one["resource"] for one in json.loads(bytes_of(bundle_of(SITE, answer)))["entry"]]


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_everything_made_of_a_sample_names_its_profile_and_keeps_it(sample: Sample) -> None:
    for one in resources(example(SITE, sample.screen, sample.number)):
        (url,) = one["meta"]["profile"]
        name = url.rpartition("stanchion-")[2]
        assert PROFILES[name].type == one["resourceType"]
        assert faults(one) == []


@pytest.mark.parametrize("state", ["superseded", "lapsed", "corrected", "withdrawn", "previewed"])
def test_a_plan_keeps_its_profile_in_every_state(state: str) -> None:
    plans = [one for one in resources(STATES[state]()) if one["resourceType"] != "Observation"]
    assert [fault for one in plans for fault in faults(one)] == []


@pytest.mark.parametrize(("name", "change", "said"), BROKEN)
def test_a_resource_that_breaks_a_promise_is_seen(name: str, change: Change, said: str) -> None:
    broken = copy.deepcopy(EXAMPLES[name])
    change(broken)
    found = faults(broken)
    assert any(said in fault for fault in found), found


INVARIANTS = [
    (name, element["path"], rule)
    for name, one in DEFINED.items()
    for element in one["differential"]["element"]
    for rule in element.get("constraint", [])
]


def holds(path: str, expression: str, resource: Json) -> bool:
    """By an engine of FHIRPath alone, at every place that the invariant is about."""
    inside = path.partition(".")[2]
    places = fhirpathpy.evaluate(resource, inside) if inside else [resource]
    asked = {"base": path, "expression": expression}
    return all(fhirpathpy.evaluate(place, asked, {}, R4) == [True] for place in places)


@pytest.mark.parametrize(("name", "path", "rule"), INVARIANTS)
def test_every_invariant_holds_on_each_example_and_not_on_what_breaks_it(
    name: str, path: str, rule: Json
) -> None:
    shown = {one: EXAMPLES[one] for one in EXAMPLES if profile_shown(one) == name}
    assert all(holds(path, rule["expression"], copy.deepcopy(one)) for one in shown.values())
    breaking = [(kept, change) for kept, change, said in BROKEN if said == rule["key"]]
    assert breaking
    for kept, change in breaking:
        broken = copy.deepcopy(shown[kept])
        change(broken)
        assert not holds(path, rule["expression"], broken)


def test_every_key_of_an_invariant_is_our_own_and_names_its_profile() -> None:
    keys = [rule["key"] for _, _, rule in INVARIANTS]
    assert len(keys) == len(set(keys))
    for name, _, rule in INVARIANTS:
        assert rule["key"].startswith("stn-")
        assert rule["source"] == SITE.profile(name)
        assert rule["human"]


@pytest.mark.parametrize("name", DEFINED)
def test_a_differential_stands_in_the_order_of_its_snapshot(name: str) -> None:
    one = DEFINED[name]
    order = [element["id"] for element in one["snapshot"]["element"]]
    changed = [element["id"] for element in one["differential"]["element"]]
    places = [order.index(each) for each in changed]
    assert places == sorted(places)
    assert len(order) == len(set(order))


@pytest.mark.parametrize("name", DEFINED)
def test_a_profile_only_ever_asks_more_than_the_standard(name: str) -> None:
    for element in DEFINED[name]["snapshot"]["element"]:
        base = element["base"]
        assert element["min"] >= base["min"] or element.get("sliceName")
        if base["max"] != "*":
            assert int(element["max"]) <= int(base["max"])


def test_a_profile_is_a_constraint_on_its_type_and_says_so_in_words() -> None:
    assert set(DEFINED) == set(PROFILES)
    for name, one in DEFINED.items():
        assert one["type"] == PROFILES[name].type
        assert one["derivation"] == "constraint"
        assert one["fhirVersion"] == "4.0.1"
        assert "always" in one["text"]["div"]


def test_a_plan_may_hold_every_extension_that_stands_in_an_activity() -> None:
    elements = DEFINED["care-plan"]["snapshot"]["element"]
    slices = [one for one in elements if "detail.extension:" in one["id"]]
    named = {one["sliceName"]: one["type"][0]["profile"] for one in slices}
    assert named == {
        one.name: [SITE.extension(one.name)] for one in OWN if one.context.startswith("CarePlan")
    }
