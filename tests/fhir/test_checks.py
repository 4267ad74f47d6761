"""Do the checks that hold the FHIR see a fault when there is one?"""

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest

from service.fhir.bundle import bundle_of
from service.fhir.encode import bytes_of
from tests.fhir.answers import FULL, SITE, answer_to
from tests.fhir.code_checks import is_loinc, is_snomed, is_ucum
from tests.fhir.false_alarms import is_known
from tests.fhir.own_checks import bundle_faults
from tests.fhir.validators import (
    form_faults,
    official,
    official_faults,
    parse_faults,
    read,
    told,
)

RAW = bytes_of(bundle_of(SITE, answer_to(FULL)))
Document = dict[str, Any]


def first(bundle: Document, kind: str, holding: str = "id") -> Document:
    found = (entry["resource"] for entry in bundle["entry"])
    return next(one for one in found if one["resourceType"] == kind and holding in one)


def put(kind: str, name: str, value: Any) -> Callable[[Document], None]:
    def change(bundle: Document) -> None:
        first(bundle, kind)[name] = value

    return change


def unresolved(bundle: Document) -> None:
    first(bundle, "CarePlan")["supportingInfo"][0]["reference"] = "Observation/none"


def wrong_version(bundle: Document) -> None:
    first(bundle, "Provenance")["target"][0]["reference"] += "0"


def twice(bundle: Document) -> None:
    bundle["entry"].append(copy.deepcopy(bundle["entry"][0]))


def elsewhere(bundle: Document) -> None:
    bundle["entry"][0]["fullUrl"] += "x"


def unit(code: str) -> Callable[[Document], None]:
    def change(bundle: Document) -> None:
        first(bundle, "Observation", "valueQuantity")["valueQuantity"]["code"] = code

    return change


def without_system(bundle: Document) -> None:
    del first(bundle, "Observation", "valueQuantity")["valueQuantity"]["system"]


def loinc(bundle: Document) -> None:
    first(bundle, "Observation")["code"]["coding"].append(
        {"system": "http://loinc.org", "code": "89423-7"}
    )


def forbidding(bundle: Document) -> None:
    first(bundle, "CarePlan")["activity"][0]["detail"]["doNotPerform"] = True


def without_narrative(bundle: Document) -> None:
    del first(bundle, "CarePlan")["text"]


def narrated(div: str) -> Callable[[Document], None]:
    return put("Patient", "text", {"status": "generated", "div": div})


XHTML = '<div xmlns="http://www.w3.org/1999/xhtml">'
RANGE = [{"low": {"value": 3}, "high": {"value": 2}}]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (unresolved, "leads nowhere"),
        (wrong_version, "leads nowhere"),
        (twice, "more than once"),
        (elsewhere, "not the address"),
        (put("Patient", "id", "a_b"), "id 'a_b'"),
        (put("Patient", "id", "a" * 65), "id '"),
        (put("Patient", "birthDate", "2026-02-30"), "not in the calendar"),
        (put("Observation", "issued", "2026-02-30T10:00:00Z"), "not in the calendar"),
        (put("Observation", "issued", "2026-02-03T10:00:00"), "no zoned time"),
        (put("Patient", "gender", ""), "empty"),
        (put("Patient", "gender", None), "empty"),
        (put("Patient", "gender", "a\x00"), "no FHIR string"),
        (put("Patient", "modifierExtension", [{"url": "x"}]), "a modifier"),
        (forbidding, "a modifier"),
        (unit("kilos"), "not written as its system"),
        (without_system, "qty-3"),
        (loinc, "not written as its system"),
        (put("Observation", "referenceRange", RANGE), "rng-2"),
        (put("Patient", "photo", [{"data": "YQ=="}]), "att-1"),
        (without_narrative, "dom-6"),
        (narrated(f"{XHTML}<p>a & b</p></div>"), "no XML"),
        (narrated(f"{XHTML}<script>a</script></div>"), "script"),
        (narrated(f'{XHTML}<p onclick="a">b</p></div>'), "onclick"),
        (narrated(f"{XHTML}<p> </p></div>"), "txt-2"),
    ],
)
def test_our_own_checks_see(change: Callable[[Document], None], said: str) -> None:
    bundle = read(RAW)
    change(bundle)
    found = bundle_faults(bundle)
    assert any(said in fault for fault in found), found


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (put("Observation", "status", "done"), "status"),
        (put("Observation", "code", None), "code"),
        (put("Observation", "unheardOf", 1), "unheardOf"),
        (put("Observation", "dataAbsentReason", {"text": "x"}), "obs-6"),
        (put("CarePlan", "intent", "wish"), "intent"),
        (put("Patient", "gender", "f"), "gender"),
    ],
)
def test_the_official_definitions_see(change: Callable[[Document], None], said: str) -> None:
    bundle = json.loads(RAW)
    target = first(bundle, "Observation", "valueInteger")
    bundle["entry"] = [
        one
        for one in bundle["entry"]
        if one["resource"] is target or one["resource"]["resourceType"] in ("CarePlan", "Patient")
    ]
    change(bundle)
    found = [fault for one in bundle["entry"] for fault in official_faults(one["resource"])]
    assert any(said in fault for fault in found), found


def test_the_faster_way_of_asking_finds_what_the_validator_finds_by_itself() -> None:
    bundle = json.loads(RAW)
    put("CarePlan", "intent", "wish")(bundle)
    plan = first(bundle, "CarePlan")
    alone = official().validate_resource(plan).issues
    assert official_faults(plan) == [told(one) for one in alone if not is_known(one)] != []


@pytest.mark.parametrize("name", ["status", "code"])
def test_the_second_validator_and_the_parser_see_what_is_missing(name: str) -> None:
    bundle = json.loads(RAW)
    del first(bundle, "Observation")[name]
    raw = json.dumps(bundle).encode()
    assert any(name in fault for fault in form_faults(raw))
    assert parse_faults(raw)


@pytest.mark.parametrize("unit", ["kg", "mm[Hg]", "/min", "{stands}", "m/s", "1", "%", "Cel"])
def test_a_right_unit_passes(unit: str) -> None:
    assert is_ucum(unit)


@pytest.mark.parametrize("unit", ["", "kilo", "mmHg", "m / s", "{a b}", "°C"])
def test_a_wrong_unit_is_seen(unit: str) -> None:
    assert not is_ucum(unit)


@pytest.mark.parametrize("code", ["29463-7", "8302-2", "39156-5", "85354-9", "72514-3"])
def test_a_right_loinc_code_passes_and_one_digit_off_does_not(code: str) -> None:
    assert is_loinc(code)
    assert not is_loinc(f"{code[:-1]}{(int(code[-1]) + 1) % 10}")
    assert not is_loinc("x")


@pytest.mark.parametrize("code", ["129839007", "711036006", "22631008", "28651003"])
def test_a_right_snomed_code_passes_and_one_digit_off_does_not(code: str) -> None:
    assert is_snomed(code)
    assert not is_snomed(f"{code[:-1]}{(int(code[-1]) + 1) % 10}")
    assert not is_snomed("12")
