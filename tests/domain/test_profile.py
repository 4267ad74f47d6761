"""Does a profile answer for each axis, number and condition?"""

from decimal import Decimal

import pytest

from service.domain.axis import Axis, Number
from service.domain.condition import Condition
from tests.rules.profiles import profile


def test_a_grade_is_known_unless_it_is_unknown() -> None:
    seen = profile({Axis.ARMS: "none"})
    assert seen.grade(Axis.ARMS) == "none" and seen.known(Axis.ARMS)
    assert seen.grade(Axis.RISE) == "unknown" and not seen.known(Axis.RISE)


@pytest.mark.parametrize(("value", "tenths"), [("0", 0), ("0.1", 1), ("76.9", 769), ("500", 5000)])
def test_a_number_is_held_in_whole_tenths(value: str, tenths: int) -> None:
    seen = profile({}, {Number.MASS_KG: Decimal(value)})
    assert seen.tenths(Number.MASS_KG) == tenths


def test_a_number_not_recorded_has_no_tenths() -> None:
    assert profile({}).tenths(Number.MASS_KG) is None


def test_a_condition_is_there_or_not() -> None:
    seen = profile({}, None, Condition.STOMA)
    assert seen.has(Condition.STOMA)
    assert not seen.has(Condition.SPASMS)
