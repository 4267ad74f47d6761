"""Are standard codes written right, and never in place of our own?"""

import pytest

from service.fhir.codes import LOINC, SNOMED, STANDARD
from service.fhir.definitions.concept_maps import NEAR
from service.fhir.site import site_of
from service.fhir.structs import Coding
from tests.fhir.answers import BASE, BOOK
from tests.fhir.code_checks import is_loinc, is_snomed

# Seen in published value sets, and looked at one by one. Nothing else is ever sent. 9279-1 and
# 8310-5 are those that R4's own profiles resprate and bodytemp fix.
SEEN = {
    LOINC: {
        "29463-7", "8302-2", "39156-5", "85354-9", "8480-6", "8462-4", "34553-8", "8867-4",
        "9279-1", "8310-5",
        "2708-6", "59408-5", "72514-3", "73830-2", "66247-8", "93125-3", "89423-8", "89422-0",
        "83172-7", "83173-5", "83174-3", "89393-3", "89415-4", "85926-4", "89395-8", "89399-0",
        "47420-5", "18776-5",
    },
    SNOMED: {
        "129839007", "414191008", "704682009", "129005007", "129022009", "129006008",
        "714914005", "82971005", "129859006", "225602000", "22631008", "28651003", "710960001",
        "711036006", "107724000", "710121004", "710803000", "710804006", "713138001",
        "710950005", "430481008", "410076000",
    },
}  # fmt: skip
CHECKS = {LOINC: is_loinc, SNOMED: is_snomed}
CODINGS = [coding for codings in STANDARD.values() for coding in codings]


@pytest.mark.parametrize("coding", CODINGS, ids=lambda coding: coding.code)
def test_every_standard_code_has_its_right_check_digit(coding: Coding) -> None:
    assert CHECKS[coding.system](coding.code)


def test_a_standard_code_was_seen_where_it_is_published() -> None:
    assert {(one.system, one.code) for one in CODINGS} <= {
        (system, code) for system, codes in SEEN.items() for code in codes
    }
    assert {code for code, _ in NEAR.values()} <= SEEN[LOINC]


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
