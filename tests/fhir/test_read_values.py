"""Is each answer read in the one type, unit and code system that its question has?"""

from decimal import Decimal
from typing import Any

import pytest

from service.fhir.read_form import questions_of
from service.fhir.read_values import NOTHING, VALUE_OF, none_of, read_answer, version_faults
from service.fhir.units import shown
from tests.fhir.answers import SITE
from tests.fhir.responses import answer_of, full, kilograms

QUESTIONS = questions_of(SITE.form)
OUTCOME = "https://stanchion.example/fhir/CodeSystem/outcome"
UCUM = "http://unitsofmeasure.org"
GOOD: dict[str, tuple[Any, Any]] = {
    "stages.rise.outcome": (
        {"valueCoding": {"system": OUTCOME, "code": "achieved", "display": "whatever"}},
        "achieved",
    ),
    "stages.rise.hands_used": ({"valueBoolean": False}, False),
    "readiness.rass": ({"valueInteger": -3}, -3),
    "patient.mass_kg": ({"valueQuantity": kilograms("72.50")}, Decimal("72.50")),
    "patient.birth_date": ({"valueDate": "1948-03-02"}, "1948-03-02"),
    "observed_at": ({"valueDateTime": "2026-03-04T08:15:00Z"}, "2026-03-04T08:15:00Z"),
    "location": ({"valueString": "ward/1"}, "ward/1"),
    "encounter.system": ({"valueUri": "urn:x"}, "urn:x"),
    "tests.sppb.gait_4m_s.unable": ({"valueBoolean": True}, None),
    "context.devices": (answer_of(full(), "context.devices"), "listed"),
}


def read(link: str, answer: Any) -> tuple[Any, list[tuple[str, str]]]:
    faults: list[Any] = []
    value = read_answer(QUESTIONS[link].item, answer, "/a", faults)
    return value, [(fault.path, fault.rule) for fault in faults]


@pytest.mark.parametrize("link", GOOD)
def test_a_good_answer_gives_its_native_value(link: str) -> None:
    answer, value = GOOD[link]
    assert read(link, answer) == (value, [])


@pytest.mark.parametrize("link", GOOD)
def test_an_answer_of_any_other_type_is_refused(link: str) -> None:
    wanted = VALUE_OF[QUESTIONS[link].item.kind]
    others: dict[str, Any] = {
        "valueBoolean": True, "valueInteger": 1, "valueDecimal": Decimal("1.0"),
        "valueDate": "2026-01-01", "valueDateTime": "2026-01-01T00:00:00Z", "valueTime": "08:00:00",
        "valueString": "a", "valueUri": "urn:x", "valueCoding": {}, "valueQuantity": {},
        "valueReference": {}, "valueAttachment": {},
    }  # fmt: skip
    for name, value in others.items():
        if name != wanted:
            assert read(link, {name: value}) == (NOTHING, [(f"/a/{name}", "form.answer_type")])


@pytest.mark.parametrize("link", GOOD)
def test_no_value_and_two_values_are_refused(link: str) -> None:
    answer, _ = GOOD[link]
    assert read(link, {"id": "x"}) == (NOTHING, [("/a", "form.no_value")])
    assert read(link, {**answer, "valueTime": "08:00:00"}) == (NOTHING, [("/a", "shape.choice")])
    assert read(link, []) == (NOTHING, [])


@pytest.mark.parametrize("link", GOOD)
def test_a_value_of_another_kind_of_json_gives_nothing(link: str) -> None:
    wanted = VALUE_OF[QUESTIONS[link].item.kind]
    values: tuple[Any, ...] = (None, [], {}, "x", 1, True, Decimal("1.5"))
    for value in values:
        found, _ = read(link, {wanted: value})
        assert found is NOTHING or type(found) is type(value) or (found, value) == (None, True)


def test_questions_inside_an_answer_are_refused() -> None:
    answer = {"valueBoolean": True, "item": []}
    assert read("stages.rise.hands_used", answer) == (True, [("/a/item", "form.place")])


@pytest.mark.parametrize(
    ("coding", "fault"),
    [
        ({"system": "urn:other", "code": "achieved"}, ("/a/valueCoding/system", "form.system")),
        ({"code": "achieved"}, ("/a/valueCoding/system", "form.system")),
        ({"system": OUTCOME, "code": "done"}, ("/a/valueCoding/code", "form.code")),
        ({"system": OUTCOME, "code": "Achieved"}, ("/a/valueCoding/code", "form.code")),
        ({"system": OUTCOME, "display": "achieved"}, ("/a/valueCoding/code", "form.code")),
        ({"system": OUTCOME, "code": ["achieved"]}, ("/a/valueCoding/code", "form.code")),
    ],
)
def test_a_code_counts_in_its_own_system_only(coding: Any, fault: tuple[str, str]) -> None:
    assert read("stages.rise.outcome", {"valueCoding": coding}) == (NOTHING, [fault])


def test_a_code_of_another_question_is_refused() -> None:
    coding = answer_of(full(), "stages.rise.help")["valueCoding"]
    assert read("stages.rise.outcome", {"valueCoding": coding})[1] == [
        ("/a/valueCoding/system", "form.system")
    ]


@pytest.mark.parametrize(
    ("change", "faults"),
    [
        ({"code": "[lb_av]"}, [("code", "form.unit")]),
        ({"code": "Kg"}, [("code", "form.unit")]),
        ({"system": "http://ehr.example/units"}, [("system", "form.system")]),
        ({"comparator": "<"}, [("comparator", "form.comparator")]),
        ({"value": None}, []),
        ({"value": "72.5"}, []),
        ({"value": True}, []),
    ],
)
def test_a_quantity_counts_in_its_own_unit_only(change: Any, faults: Any) -> None:
    found = read("patient.mass_kg", {"valueQuantity": kilograms("72.5") | change})
    assert found == (NOTHING, [(f"/a/valueQuantity/{name}", rule) for name, rule in faults])


def test_a_quantity_without_unit_or_value_tells_each_fault() -> None:
    assert read("patient.mass_kg", {"valueQuantity": {"unit": "kg"}})[1] == [
        ("/a/valueQuantity/system", "form.system"),
        ("/a/valueQuantity/code", "form.unit"),
        ("/a/valueQuantity/value", "shape.missing"),
    ]


def test_what_a_unit_is_called_does_not_matter() -> None:
    quantity = {"value": 72, "unit": "Kilogramm", "system": UCUM, "code": "kg"}
    assert read("patient.mass_kg", {"valueQuantity": quantity}) == (72, [])


@pytest.mark.parametrize(
    ("link", "called", "code"),
    [
        ("patient.mass_kg", "lb", "kg"),
        ("patient.mass_kg", "Pounds", "kg"),
        ("patient.mass_kg", "lbs.", "kg"),
        ("patient.stature_cm", "in", "cm"),
        ("patient.stature_cm", "m", "cm"),
        ("readiness.vital_signs.temperature_celsius", "°F", "Cel"),
        ("readiness.vital_signs.systolic_mmhg", "kPa", "mm[Hg]"),
        ("stages.timed_stand.seconds", "minutes", "s"),
        ("patient.age_years", "months", "a"),
        ("readiness.vital_signs.fio2_fraction", "%", "1"),
    ],
)
def test_a_unit_that_is_called_one_thing_and_coded_another_is_refused(
    link: str, called: str, code: str
) -> None:
    quantity = {"value": 30, "unit": called, "system": UCUM, "code": code}
    assert read(link, {"valueQuantity": quantity}) == (
        NOTHING,
        [("/a/valueQuantity/unit", "form.unit")],
    )


def test_every_unit_is_taken_as_it_is_shown_and_as_it_is_coded() -> None:
    for link, question in QUESTIONS.items():
        unit = question.item.unit
        if question.item.kind == "quantity" and unit is not None:
            for called in (unit, shown(unit)):
                said = {"value": 3, "unit": called, "system": UCUM, "code": unit}
                assert read(link, {"valueQuantity": said}) == (3, []), called


@pytest.mark.parametrize(
    ("version", "rules"), [("1", []), ("1.9.3", []), ("2.0.0", ["form.system"]), ("", [])]
)
def test_a_code_is_of_a_version_that_is_read_or_of_none(version: str, rules: list[str]) -> None:
    coding = {"system": OUTCOME, "code": "achieved", **({"version": version} if version else {})}
    faults = list(version_faults([{}, {"valueCoding": coding}], "1.4.0", "/a"))
    assert [fault.rule for fault in faults] == rules
    assert {fault.path for fault in faults} <= {"/a/answer/1/valueCoding/version"}


@pytest.mark.parametrize("odd", [None, [], {"valueCoding": []}, {"valueCoding": {"version": 2}}])
def test_what_is_no_coding_has_no_version(odd: Any) -> None:
    assert list(version_faults([odd], "1.4.0", "/a")) == []


def test_none_is_an_empty_list_and_stands_alone() -> None:
    faults: list[Any] = []
    assert none_of(["hip"], "/a", faults) == ["hip"]
    assert none_of(["none"], "/a", faults) == []
    assert faults == []
    assert none_of(["hip", "none"], "/a", faults) == ["hip"]
    assert [fault.rule for fault in faults] == ["form.none_beside"]
