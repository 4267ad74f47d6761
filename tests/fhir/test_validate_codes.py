"""Are codes held to their value sets, and to the way their systems write them?"""

from typing import Any

import pytest

from service.fhir.validate_codes import is_in, is_loinc, is_snomed, is_ucum
from service.fhir.validate_known import Known
from tests.fhir import code_checks
from tests.fhir.broken import OBSERVATION, changed, faults

CODING = "code.coding.0"


@pytest.mark.parametrize(
    ("path", "value", "where"),
    [
        ("status", "finall", "Observation.status"),
        ("status", "FINAL", "Observation.status"),
        ("text.status", "made", "Observation.text.status"),
        ("valueQuantity.comparator", "=<", "Observation.value.comparator"),
    ],
)
def test_a_code_outside_its_required_set_is_told(path: str, value: str, where: str) -> None:
    assert faults(changed(OBSERVATION, path, value)) == [("code_not_in_set", where)]


def test_a_code_outside_a_set_that_is_not_required_is_let_pass() -> None:
    category = [{"coding": [{"system": "http://example.org", "code": "x"}]}]
    assert faults(changed(OBSERVATION, "category", category)) == []


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        ("valueQuantity.code", "kg m", ("unit_form", "Observation.value.code")),
        (f"{CODING}.code", "29463-8", ("code_form", "Observation.code.coding[0].code")),
        (CODING, {"system": "http://snomed.info/sct", "code": "129839008"},
         ("code_form", "Observation.code.coding[0].code")),
        (CODING, {"system": "http://hl7.org/fhir/ValueSet/observation-codes", "code": "x"},
         ("code_form", "Observation.code.coding[0].system")),
    ],
)  # fmt: skip
def test_a_code_not_written_as_its_system_writes_is_told(
    path: str, value: Any, told: tuple[str, str]
) -> None:
    assert faults(changed(OBSERVATION, path, value)) == [told]


def test_a_code_that_our_own_system_lacks_is_told() -> None:
    system = "https://stanchion.example/fhir/CodeSystem/test"
    known = Known({}, {system: frozenset({"gait_speed_4m"})}, {})
    good = changed(OBSERVATION, CODING, {"system": system, "code": "gait_speed_4m"})
    bad = changed(OBSERVATION, CODING, {"system": system, "code": "gait_speed"})
    assert faults(good, known) == []
    assert faults(bad, known) == [("unknown_code", "Observation.code.coding[0].code")]


def test_a_concept_needs_one_coding_of_the_set() -> None:
    codes = {"s": frozenset({"a"})}
    inside, outside = {"system": "s", "code": "a"}, {"system": "t", "code": "a"}
    assert is_in("CodeableConcept", {"coding": [outside, inside]}, codes)
    assert not is_in("CodeableConcept", {"coding": [outside]}, codes)
    assert not is_in("CodeableConcept", {"text": "a"}, codes)
    assert is_in("Coding", inside, codes) and not is_in("Coding", outside, codes)
    assert is_in("code", "a", codes) and not is_in("code", "b", codes)


UNITS = ("kg", "1", "%", "mm[Hg]", "/min", "m/s", "kg/m2", "10*3/uL", "10^9/L", "{score}", "m{x}",
         "10*-6", "cm[H2O]", "L/(min.m2)", "ug/(kg.h)", "[in_i'H2O]", "B[10.nV]", "Cel", "m/s2",
         "(8.h)", "mL/min/{1.73_m2}", "''", "/(min)")  # fmt: skip


@pytest.mark.parametrize("unit", UNITS)
def test_a_unit_of_ucum_is_taken(unit: str) -> None:
    assert is_ucum(unit)


@pytest.mark.parametrize(
    "unit",
    ["", "kg m", "kg/", "kg..m", "m//s", "{score", "score}", "mm[Hg", "Hg]", "()", "(m", "m)",
     "µg", "°C", "m[]", "kg^2", "m*2", "*kg", "min-", "m+", "10*+", "m2s",
     "{a}{b", "a" * 101, "kg\n", "m(s)"],
)  # fmt: skip
def test_what_is_no_unit_is_told(unit: str) -> None:
    assert not is_ucum(unit)


CODES = ("29463-7", "8302-2", "39156-5", "85354-9", "8480-6", "66247-8", "89423-8", "83174-3")


@pytest.mark.parametrize("code", CODES)
def test_each_other_check_digit_of_a_loinc_code_is_wrong(code: str) -> None:
    stem = code[:-1]
    assert [digit for digit in "0123456789" if is_loinc(stem + digit)] == [code[-1]]
    assert all(
        is_loinc(stem + digit) == code_checks.is_loinc(stem + digit) for digit in "0123456789"
    )


def test_answers_and_parts_of_loinc_are_taken_by_their_form() -> None:
    assert is_loinc("LA6576-8") and is_loinc("LP7753-9")
    assert not is_loinc("LA6576") and not is_loinc("29463") and not is_loinc("٢٩٤٦٣-٧")


def test_no_code_of_loinc_begins_with_a_nought() -> None:
    assert not is_loinc("029463-7")


SNOMED = ("129839007", "414191008", "704682009", "129005007", "82971005", "710803000")


@pytest.mark.parametrize("code", SNOMED)
def test_each_other_check_digit_of_a_snomed_identifier_is_wrong(code: str) -> None:
    stem = code[:-1]
    assert [digit for digit in "0123456789" if is_snomed(stem + digit)] == [code[-1]]
    assert not is_snomed("0" + code) and not is_snomed("12345")
