"""Whatever is bent anywhere in a resource that goes out, is it told, and told there?"""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.fhir.base_facts import value_sets
from service.fhir.bundle import bundle_of
from service.fhir.encode import bytes_of
from service.fhir.validate import read_tree, validate
from service.fhir.validate_finding import Finding, Severity
from service.fhir.validate_ours import known_at
from service.fhir.validate_slots import names_at, type_place
from service.fhir.validate_tree import Node, walk
from tests.fhir.answers import FULL, HELPED, SITE, answer_to
from tests.fhir.broken import changed

Json = dict[str, Any]


def resources() -> list[Json]:
    """One of each type and set of names that goes out."""
    found: dict[tuple[str, ...], Json] = {}
    for screen in (FULL, HELPED):
        for entry in read_tree(bytes_of(bundle_of(SITE, answer_to(screen))))["entry"]:
            one = entry["resource"]
            found.setdefault((one["resourceType"], *sorted(one)), one)
    return list(found.values())


RESOURCES = resources()
KNOWN = known_at(SITE)


def steps_to(resource: Json, node: Node) -> str:
    """The way to the value of ``node`` in the JSON, with dots."""
    waiting: list[tuple[str, Any]] = [("", resource)]
    while waiting:
        way, value = waiting.pop()
        if value is node.value and way:
            return way
        inner = value.items() if isinstance(value, dict) else enumerate(value)
        waiting += [
            (f"{way}.{key}".removeprefix("."), part)
            for key, part in inner
            if isinstance(part, dict | list) or (part is node.value)
        ]
    return ""


def errors(resource: Json) -> list[Finding]:
    return [each for each in validate(resource) if each.severity == Severity.ERROR]


def complex_nodes(resource: Json) -> list[Node]:
    """The objects in a resource, each of which is one object in memory and found by that."""
    return [each for each in walk(resource).nodes if isinstance(each.value, dict) and each.slot]


def required_of(node: Node) -> list[str]:
    """The JSON names in an object that its type requires and that are there."""
    place = node.slot.inside if node.slot is not None else type_place(node.type)
    if place is None:
        return []
    return [
        name
        for element in names_at(place).elements
        if element.facts.min > 0
        for name in element.names
        if name in node.value
    ]


@st.composite
def places(draw: st.DrawFn) -> tuple[Json, Node, str]:
    resource = draw(st.sampled_from(RESOURCES))
    node = draw(st.sampled_from(complex_nodes(resource)))
    return resource, node, steps_to(resource, node)


SETTINGS = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@pytest.mark.parametrize("resource", RESOURCES, ids=lambda one: one["resourceType"])
def test_it_is_good_before_it_is_bent(resource: Json) -> None:
    assert errors(resource) == []


@SETTINGS
@given(places())
def test_an_element_that_nobody_knows_is_told_there(place: tuple[Json, Node, str]) -> None:
    resource, node, way = place
    told = errors(changed(resource, f"{way}.unheardOf", 1))
    assert ("validate.unknown_element", f"{node.path}.unheardOf") in {
        (each.rule, each.path) for each in told
    }


@SETTINGS
@given(places(), st.sampled_from(["text", 7, True, [], ["text"], {}]))
def test_another_kind_of_json_is_told_there(place: tuple[Json, Node, str], bent: Any) -> None:
    resource, node, way = place
    told = [each.path for each in errors(changed(resource, way, bent))]
    assert any(each.startswith(node.path) for each in told)


@SETTINGS
@given(places(), st.data())
def test_a_required_element_that_is_gone_is_told_there(
    place: tuple[Json, Node, str], data: st.DataObject
) -> None:
    resource, node, way = place
    required = required_of(node)
    if not required:
        return
    name = data.draw(st.sampled_from(required))
    told = {(each.rule, each.path) for each in errors(changed(resource, f"{way}.{name}", ...))}
    assert ("validate.missing", f"{node.path}.{name}") in told


@SETTINGS
@given(places(), st.data())
def test_each_value_inside_bent_to_null_or_nothing_is_told(
    place: tuple[Json, Node, str], data: st.DataObject
) -> None:
    resource, node, way = place
    name = data.draw(st.sampled_from(sorted(node.value)))
    bent: Any = data.draw(st.sampled_from([None, "", [], {}]))
    told = [each.path for each in errors(changed(resource, f"{way}.{name}", bent))]
    assert any(each.startswith(node.path) for each in told)


def coded(resource: Json) -> list[tuple[Node, str]]:
    """Each code whose set is required, by its object and the name there."""
    return [
        (node, name)
        for node in [walk(resource).nodes[0], *complex_nodes(resource)]
        for name, slot in names_at(
            node.slot.inside if node.slot and node.slot.inside else type_place(node.type)
        ).slots.items()
        if name in node.value
        and slot.type == "code"
        and slot.element.binding is not None
        and slot.element.binding.strength == "required"
        and slot.element.binding.value_set in value_sets()
    ]


@pytest.mark.parametrize("resource", RESOURCES, ids=lambda one: one["resourceType"])
def test_each_required_code_bent_is_told_there(resource: Json) -> None:
    found = coded(resource)[:20]
    assert found
    for node, name in found:
        way = steps_to(resource, node)
        told = errors(changed(resource, f"{way}.{name}".removeprefix("."), "unheard-of"))
        assert [(each.rule.removeprefix("validate."), each.path) for each in told] == [
            ("code_not_in_set", f"{node.path}.{name}")
        ]


@pytest.mark.parametrize("resource", RESOURCES, ids=lambda one: one["resourceType"])
def test_each_element_that_the_resource_requires_is_told(resource: Json) -> None:
    root = walk(resource).nodes[0]
    for name in required_of(root):
        told = {(each.rule, each.path) for each in errors(changed(resource, name, ...))}
        assert ("validate.missing", f"{root.path}.{name}") in told


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.decimals(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3)
    | st.dictionaries(
        st.sampled_from(["resourceType", "id", "url", "reference", "coding", "meta", "profile",
                         "entry", "fullUrl", "contained", "value", "code", "item", "linkId"]),
        inner, max_size=4,
    ),
    max_leaves=8,
)  # fmt: skip


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(places(), st.data())
def test_whatever_stands_anywhere_is_looked_at_without_falling_over(
    place: tuple[Json, Node, str], data: st.DataObject
) -> None:
    resource, node, way = place
    bent = data.draw(ANYTHING)
    name = data.draw(st.sampled_from(["", *sorted(node.value)]))
    at = f"{way}.{name}" if name else way
    for one in (changed(resource, at, bent), changed(resource, at.partition(".")[0], bent), bent):
        told = validate(one, KNOWN)
        assert told[-1].rule == "validate.unchecked"
        for kind in ("Bundle", "Questionnaire", "StructureDefinition", "Parameters"):
            if isinstance(bent, dict):
                validate({**bent, "resourceType": kind}, KNOWN)
