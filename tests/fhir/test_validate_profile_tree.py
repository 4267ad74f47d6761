"""Is a snapshot read as a tree, and does a value find its slice?"""

from typing import Any

import pytest

from service.fhir.validate_profile_tree import belongs, expected_at, given, matches
from tests.fhir.small_profile import EXTENSION, KNOWN, SURVEY, URL

ROOT = KNOWN.profiles[URL].root


def test_slices_stand_with_their_element_and_inner_elements_inside() -> None:
    assert set(ROOT.inner["category"].slices) == {"survey"}
    assert set(ROOT.inner["code"].inner) == {"text"}
    assert ROOT.inner["value"].is_choice and not ROOT.inner["code"].is_choice
    assert (ROOT.inner["device"].most, ROOT.inner["extension"].most) == (0, None)


def test_a_slice_is_known_by_pattern_and_an_extension_by_its_address() -> None:
    assert expected_at(ROOT.inner["category"].slices["survey"], "coding.code") == "survey"
    assert expected_at(ROOT.inner["category"].slices["survey"], "$this") == SURVEY
    assert expected_at(ROOT.inner["extension"].slices["level"], "url") == EXTENSION
    assert expected_at(ROOT.inner["category"].slices["survey"], "text") is None


def test_a_value_belongs_where_every_discriminator_says_so() -> None:
    survey = ROOT.inner["category"].slices["survey"]
    several = {"coding": [{"system": "x", "code": "y"}, SURVEY["coding"][0]]}
    assert belongs(survey, ("coding.code",), several)
    assert not belongs(survey, ("coding.code",), {"text": "survey"})
    assert not belongs(survey, ("coding.code", "text"), several)
    assert not belongs(survey, (), several)


@pytest.mark.parametrize(
    ("pattern", "value", "good"),
    [
        ({"a": 1}, {"a": 1, "b": 2}, True),
        ({"a": 1}, {"b": 1}, False),
        ([{"a": 1}], [{"a": 2}, {"a": 1, "b": 2}], True),
        ([{"a": 1}], {"a": 1}, False),
        (True, 1, False),
        ("a", "a", True),
        ({"a": 1}, "a", False),
    ],
)
def test_a_pattern_lets_more_stand_beside_it(pattern: Any, value: Any, good: Any) -> None:
    assert matches(pattern, value) == good


def test_values_are_found_under_each_of_their_names() -> None:
    assert given({"a": [1, 2]}, "a") == [("[0]", "", 1), ("[1]", "", 2)]
    assert given({"valueCode": "x"}, "value", choice=True) == [("", "Code", "x")]
    assert given({"valueCode": "x"}, "value") == []
    assert given({"_a": {"id": "x"}}, "a") == [("", "", None)]
    assert given({"_a": [None, {"id": "x"}]}, "a") == [("[0]", "", None), ("[1]", "", None)]
    assert given("text", "a") == []
