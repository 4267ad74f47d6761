"""In which unit is a value told, for machines and for people?"""

from decimal import Decimal
from functools import cache

from service.fhir.codes import UCUM
from service.fhir.structs import Quantity

_BY_ENDING = (
    ("_kg", "kg"),
    ("_cm", "cm"),
    ("_m", "m"),
    ("_s", "s"),
    ("seconds", "s"),
    ("_mmhg", "mm[Hg]"),
    ("_per_min", "/min"),
    ("percent", "%"),
    ("_celsius", "Cel"),
    ("_fraction", "1"),
    ("minutes_after_standing", "min"),
    ("age_years", "a"),
)
_SHOWN = {
    "mm[Hg]": "mmHg",
    "/min": "per minute",
    "Cel": "°C",
    "1": "of 1",
    "a": "years",
    "{stands}": "stands",
    "{stances}": "stances",
    "{score}": "points",
}


@cache
def unit_of(name: str) -> str | None:
    """The UCUM unit that a field's name says; None where it says none."""
    return next((unit for ending, unit in _BY_ENDING if name.endswith(ending)), None)


@cache
def without_unit(name: str) -> str:
    """A field's name without the unit that it ends in."""
    ending = next((one for one, _ in _BY_ENDING if one[0] == "_" and name.endswith(one)), "")
    return name.removesuffix(ending)


def shown(unit: str) -> str:
    """A UCUM unit as people write it."""
    return _SHOWN.get(unit, unit)


def quantity(value: Decimal | int, unit: str) -> Quantity:
    """``value`` in the UCUM ``unit``. JSON has no word for what is not finite."""
    if isinstance(value, Decimal) and not value.is_finite():
        raise ValueError("FHIR quantities are finite.")
    return Quantity(value, shown(unit), UCUM, unit)


def written(value: Decimal | int) -> str:
    """A number without an exponent."""
    return f"{value:f}" if isinstance(value, Decimal) else str(value)
