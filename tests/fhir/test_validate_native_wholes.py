"""Does each invariant of a whole resource in code say what the standard says?"""

from typing import Any

import pytest

from service.fhir.base_facts import type_facts
from service.fhir.validate_invariants import holds
from service.fhir.validate_native_wholes import NATIVE_WHOLES
from service.fhir.validate_tree import walk
from tests.fhir.broken import OBSERVATION, changed

DEVICE = {"resourceType": "Device", "id": "d"}
POINTED = {**OBSERVATION, "contained": [DEVICE], "device": {"reference": "#d"}}
FORM = {"resourceType": "Questionnaire", "status": "draft"}
SYSTEM = {"resourceType": "CodeSystem", "status": "draft", "content": "complete"}
BUNDLE = {"resourceType": "Bundle", "type": "collection"}
CODE = {"coding": [{"system": "s", "code": "c"}]}
ITEM = {"linkId": "a", "type": "string"}


def test_an_entry_is_called_by_no_version() -> None:
    node = walk({**BUNDLE, "entry": [{"fullUrl": "http://a/b/_history/1"}]}).nodes[2]
    other = walk({**BUNDLE, "entry": [{"resource": DEVICE}]}).nodes[2]
    assert not NATIVE_WHOLES["bdl-8"](node)
    assert NATIVE_WHOLES["bdl-8"](other)


def whole(key: str, resource: Any) -> bool:
    return NATIVE_WHOLES[key](walk(resource).nodes[0])


CASES = [
    ("dom-2", POINTED, "contained.0.contained", [DEVICE]),
    ("dom-3", POINTED, "device.reference", "Device/d"),
    ("dom-4", POINTED, "contained.0.meta.versionId", "1"),
    ("dom-4", POINTED, "contained.0.meta.lastUpdated", "2026-01-31T00:00:00Z"),
    ("dom-5", POINTED, "contained.0.meta.security", [{"code": "R"}]),
    ("dom-6", OBSERVATION, "text", ...),
    ("obs-7", {**OBSERVATION, "component": [{"code": {"text": "x"}}]}, "component.0.code",
     OBSERVATION["code"]),
    ("que-2", {**FORM, "item": [ITEM, {**ITEM, "linkId": "b", "item": [{**ITEM, "linkId": "c"}]}]},
     "item.1.item.0.linkId", "a"),
    ("csd-1", {**SYSTEM, "concept": [{"code": "a", "concept": [{"code": "b"}]}, {"code": "c"}]},
     "concept.0.concept.0.code", "c"),
    ("bdl-7", {**BUNDLE, "entry": [{"fullUrl": "u", "resource": OBSERVATION},
                                   {"fullUrl": "v", "resource": OBSERVATION}]},
     "entry.1.fullUrl", "u"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "good", "at", "value"), CASES)
def test_each_holds_for_the_good_one_and_not_for_the_broken_one(
    key: str, good: Any, at: str, value: Any
) -> None:
    assert whole(key, good)
    assert not whole(key, changed(good, at, value))


BY_ENGINE = [case for case in CASES if case[0] in ("dom-2", "dom-4", "dom-5", "obs-7", "que-2",
                                                   "csd-1", "bdl-7")]  # fmt: skip


@pytest.mark.parametrize(("key", "good", "at", "value"), BY_ENGINE)
def test_the_engine_says_the_same(key: str, good: Any, at: str, value: Any) -> None:
    expression = type_facts(good["resourceType"]).constraints[key].expression
    for resource in (good, changed(good, at, value)):
        node = walk(resource).nodes[0]
        assert holds("", expression, node) == NATIVE_WHOLES[key](node)


def test_a_contained_resource_may_point_outwards_instead() -> None:
    pointing = {**DEVICE, "parent": {"reference": "#"}}
    assert whole("dom-3", {**OBSERVATION, "contained": [pointing]})
    assert whole("dom-6", OBSERVATION)


def test_a_contained_resource_needs_no_narrative() -> None:
    inside = next(each for each in walk(POINTED).nodes if each.path.endswith("contained[0]"))
    assert NATIVE_WHOLES["dom-6"](inside)


def test_the_same_address_in_two_versions_is_a_history() -> None:
    entries = [
        {"fullUrl": "u", "resource": {**OBSERVATION, "meta": {"versionId": number}}}
        for number in ("1", "2")
    ]
    assert whole("bdl-7", {**BUNDLE, "entry": entries})
    same = [entries[0], entries[0]]
    assert not whole("bdl-7", {**BUNDLE, "entry": same})
    assert whole("bdl-7", {**BUNDLE, "type": "history", "entry": same})


def structure(*paths: str, **more: Any) -> Any:
    elements = [{"id": path, "path": path} for path in paths]
    return {
        "resourceType": "StructureDefinition", "type": "Patient", "kind": "resource",
        "snapshot": {"element": elements}, "differential": {"element": elements}, **more,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("paths", "snapshot", "differential"),
    [
        (("Patient", "Patient.id"), True, True),
        (("Patient", "Person.id"), False, False),
        (("Person", "Person.id"), False, False),
        (("Patient.id", "Patient.name"), False, True),
    ],
)
def test_the_elements_of_a_structure_are_inside_its_type(
    paths: tuple[str, ...], snapshot: Any, differential: Any
) -> None:
    facts = type_facts("StructureDefinition")
    for key, part, good in (
        ("sdf-8", "snapshot", snapshot),
        ("sdf-8a", "differential", differential),
    ):
        nodes = walk(structure(*paths)).nodes
        node = next(each for each in nodes if each.path == f"StructureDefinition.{part}")
        assert NATIVE_WHOLES[key](node) == good
        assert holds("", facts.constraints[key].expression, node) == good


def test_a_guide_names_only_groups_and_releases_that_it_has() -> None:
    guide: Any = {
        "resourceType": "ImplementationGuide", "fhirVersion": ["4.0.1"],
        "definition": {
            "grouping": [{"id": "a", "name": "A"}],
            "resource": [{"reference": {"display": "x"}, "groupingId": "a",
                          "fhirVersion": ["4.0.1"]}],
        },
    }  # fmt: skip
    other = changed(guide, "definition.resource.0.groupingId", "b")
    for resource, good in ((guide, True), (other, False)):
        nodes = walk(resource).nodes
        node = next(each for each in nodes if each.path == "ImplementationGuide.definition")
        assert NATIVE_WHOLES["ig-1"](node) == good
    assert whole("ig-2", guide)
    assert not whole("ig-2", changed(guide, "definition.resource.0.fhirVersion.0", "4.3.0"))
