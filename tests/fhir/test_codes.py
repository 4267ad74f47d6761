"""Are standard codes written right, and never in place of our own?"""

import pytest

from service.fhir.codes import LOINC, SNOMED, STANDARD
from service.fhir.site import site_of
from service.fhir.structs import Coding
from tests.fhir.answers import BASE, BOOK
from tests.fhir.code_checks import is_loinc, is_snomed

CHECKS = {LOINC: is_loinc, SNOMED: is_snomed}
CODINGS = [coding for codings in STANDARD.values() for coding in codings]


@pytest.mark.parametrize("coding", CODINGS, ids=lambda coding: coding.code)
def test_every_standard_code_has_its_right_check_digit(coding: Coding) -> None:
    assert CHECKS[coding.system](coding.code)


@pytest.mark.parametrize("coding", CODINGS, ids=lambda coding: coding.code)
def test_no_display_is_made_up_for_a_standard_code(coding: Coding) -> None:
    assert coding.display is None


@pytest.mark.parametrize(("kind", "code"), STANDARD)
def test_our_own_code_comes_first_and_has_words(kind: str, code: str) -> None:
    concept = site_of(BOOK, BASE).concept(kind, code, "Words")
    own, *standard = concept.coding
    assert own.code == code
    assert own.system.startswith("https://stanchion.example/fhir/CodeSystem/")
    assert tuple(standard) == STANDARD[kind, code]
    assert concept.text == "Words"


def test_every_method_that_has_a_standard_code_is_in_the_rule_book() -> None:
    assert {code for kind, code in STANDARD if kind == "method"} <= set(BOOK.methods)


def test_the_code_of_another_scale_is_never_used_for_alertness() -> None:
    assert "54632-5" not in {coding.code for coding in CODINGS}
