"""Is each value told in the unit that its field's name says?"""

from decimal import Decimal

import pytest

from service.fhir.form import FormItem
from service.fhir.units import quantity, shown, unit_of, without_unit, written
from tests.fhir.answers import SITE
from tests.fhir.code_checks import is_ucum


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("mass_kg", "kg"),
        ("stature_cm", "cm"),
        ("distance_m", "m"),
        ("tandem_s", "s"),
        ("seconds", "s"),
        ("systolic_mmhg", "mm[Hg]"),
        ("heart_rate_per_min", "/min"),
        ("spo2_percent", "%"),
        ("temperature_celsius", "Cel"),
        ("fio2_fraction", "1"),
        ("minutes_after_standing", "min"),
        ("age_years", "a"),
        ("rass", None),
        ("count", None),
    ],
)
def test_the_name_of_a_field_says_its_unit(name: str, unit: str | None) -> None:
    assert unit_of(name) == unit


def items(form: tuple[FormItem, ...]) -> list[FormItem]:
    return [one for item in form for one in (item, *items(item.parts))]


def test_every_unit_of_the_form_is_ucum() -> None:
    units = {item.unit for item in items(SITE.form) if item.unit}
    assert units
    assert all(is_ucum(unit) for unit in units)


def test_people_read_a_unit_as_they_write_it() -> None:
    assert shown("mm[Hg]") == "mmHg"
    assert shown("kg") == "kg"


def test_a_name_is_told_without_its_unit() -> None:
    assert without_unit("mass_kg") == "mass"
    assert without_unit("seconds") == "seconds"


def test_a_number_is_written_without_an_exponent() -> None:
    assert written(Decimal("1E+2")) == "100"
    assert written(Decimal("72.50")) == "72.50"
    assert written(3) == "3"


def test_a_quantity_carries_unit_system_and_code() -> None:
    made = quantity(Decimal("72.50"), "kg")
    assert (made.system, made.code, made.unit) == ("http://unitsofmeasure.org", "kg", "kg")
