"""Are the facts of the standard read as the official package says them?"""

import pytest

from service.fhir.base_facts import (
    STRUCTURE,
    base_elements,
    known_resources,
    known_types,
    type_facts,
    value_sets,
)
from tests.fhir import base_facts
from tests.fhir.base_values import codes_of

FILES = base_facts.files()


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_a_file_of_facts_says_what_the_official_package_says(path: object) -> None:
    held = {each: each.read_text(encoding="utf-8") for each in FILES if each == path}
    assert held == {path: FILES[path]}, "run: poe facts"  # type: ignore[index]


def test_no_file_of_facts_is_left_over() -> None:
    assert {path.name for path in base_facts.HERE.iterdir()} == {path.name for path in FILES}


def test_every_type_that_an_element_may_have_is_known() -> None:
    used = {
        kind.fhir_type or kind.code
        for name in known_types()
        for element in base_elements(name)
        for kind in element.types
    }
    primitive = {each for each in used if each.startswith("http://hl7.org/fhirpath/")}
    assert used - known_types() - primitive == set()


def test_the_facts_of_an_element_are_those_of_the_standard() -> None:
    by_path = {each.path: each for each in base_elements("Observation")}
    status = by_path["Observation.status"]
    assert (status.min, status.max, status.is_modifier, status.is_summary) == (1, "1", True, True)
    assert status.binding is not None and status.binding.strength == "required"
    assert (
        "preliminary"
        in value_sets()[str(status.binding.value_set)]["http://hl7.org/fhir/observation-status"]
    )
    assert by_path["Observation.subject"].types[0].targets == tuple(
        STRUCTURE + each for each in ("Patient", "Group", "Device", "Location")
    )
    low = by_path["Observation.component.referenceRange"]
    assert low.content_reference == "#Observation.referenceRange"


def test_every_key_of_an_element_has_its_constraint() -> None:
    for name in known_types():
        facts = type_facts(name)
        keys = {key for each in facts.elements for key in each.constraints}
        assert keys == set(facts.constraints), name


def test_the_resources_are_those_that_can_be_sent() -> None:
    assert {"Observation", "Bundle"} < set(known_resources())
    assert not {"Resource", "DomainResource", "Quantity", "id"} & set(known_resources())


def test_an_unknown_type_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        type_facts("../site")


SYSTEM = "https://example.org/system"
SET = "https://example.org/set"


def definitions(*include: object, exclude: tuple[object, ...] = ()) -> dict[str, dict[str, object]]:
    concepts = [{"code": "a", "concept": [{"code": "b"}]}, {"code": "c"}]
    return {
        SYSTEM: {"content": "complete", "concept": concepts},
        SET: {"compose": {"include": list(include), "exclude": list(exclude)}},
        SET + "/2": {"compose": {"include": [{"valueSet": [SET]}]}},
        SET + "/3": {"compose": {"include": [{"valueSet": [SET, SET]}]}},
    }


def test_codes_below_codes_belong_to_a_whole_system() -> None:
    assert codes_of(definitions({"system": SYSTEM}), SET) == {SYSTEM: {"a", "b", "c"}}


def test_listed_and_excluded_codes_are_counted() -> None:
    listed = {"system": SYSTEM, "concept": [{"code": "a"}, {"code": "c"}]}
    without = {"system": SYSTEM, "concept": [{"code": "c"}]}
    assert codes_of(definitions(listed, exclude=(without,)), SET) == {SYSTEM: {"a"}}
    assert codes_of(definitions(listed), SET + "/2") == {SYSTEM: {"a", "c"}}


@pytest.mark.parametrize(
    "include", [{"system": SYSTEM, "filter": [{}]}, {"system": "urn:ietf:bcp:13"}]
)
def test_what_is_no_list_is_no_list_of_codes(include: object) -> None:
    assert codes_of(definitions(include), SET) is None
    assert codes_of(definitions(include), SET + "/2") is None
    assert codes_of(definitions({"system": SYSTEM}), SET + "/3") is None
    assert codes_of({}, SET) is None
