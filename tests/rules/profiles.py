"""Which profiles do the tests of choosing start from? Everything unknown, but what is given."""

from decimal import Decimal

from service.domain.axis import GRADES, UNKNOWN, Axis, Number
from service.domain.condition import Condition
from service.domain.profile import AxisGrade, NumberSeen, Profile

BEST = {axis: grades[-1] for axis, grades in GRADES.items()}
TOLD = {
    Number.MASS_KG: Decimal(70),
    Number.LEG_MASS_KG: Decimal(11),
    Number.STANDING_TIME_S: Decimal(60),
    Number.HELPER_LIFT_KG: Decimal(0),
}


def profile(
    grades: dict[Axis, str],
    numbers: dict[Number, Decimal] | None = None,
    *conditions: Condition,
) -> Profile:
    """A profile of ``grades``; every other axis and number is unknown."""
    return Profile(
        axes={axis: AxisGrade(grades.get(axis, UNKNOWN)) for axis in Axis},
        numbers={number: NumberSeen((numbers or {}).get(number)) for number in Number},
        conditions=dict.fromkeys(conditions, ()),
    )


def best(*conditions: Condition) -> Profile:
    """Every axis at its best, 70 kg, a minute stood, nothing lifted."""
    return profile(BEST, TOLD, *conditions)


def best_but(grades: dict[Axis, str], *conditions: Condition) -> Profile:
    return profile(BEST | grades, TOLD, *conditions)
