"""Is a parameter out of its bounds or its order named?"""

from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.citation import Standing
from service.rules.files import Parameter
from service.rules.load import load_book
from service.rules.parameters import LEG_LIFT, bound_faults, parameter_faults

BOOK = load_book().parameters


def parameter(value: str, **more: Any) -> Parameter:
    return Parameter(
        what="A value",
        value=Decimal(value),
        unit="s",
        source="hospital_default",
        standing=Standing.DEFAULT,
        **more,
    )


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("4.9", ["must not be below 5 s"]),
        ("5", []),
        ("60", []),
        ("60.1", ["must not be above 60 s"]),
    ],
)
def test_both_bounds_are_allowed_and_nothing_beyond(value: str, said: list[str]) -> None:
    bounded = parameter(value, lowest=Decimal(5), highest=Decimal(60))
    assert list(bound_faults(bounded)) == said
    assert list(parameter_faults({"held_s": bounded})) == [f"`held_s` {each}" for each in said]


def test_a_value_without_bounds_has_no_fault() -> None:
    assert list(bound_faults(parameter("1e9"))) == []


def test_the_order_between_two_is_held() -> None:
    short, long = parameter("10", not_above=("long_s",)), parameter("9")
    (told,) = parameter_faults({"short_s": short, "long_s": long})
    assert told == "`short_s` (10) must not be above `long_s` (9)"
    assert list(parameter_faults({"short_s": short, "long_s": parameter("10")})) == []


def test_an_order_with_what_is_not_there_is_a_fault() -> None:
    (told,) = parameter_faults({"short_s": parameter("1", not_above=("gone_s",))})
    assert told == "`short_s` must not be above `gone_s`, which is no parameter"


def test_one_helper_lifts_no_leg_that_is_too_heavy_for_two_hands() -> None:
    heavier = {**BOOK, LEG_LIFT[0]: replace(BOOK[LEG_LIFT[0]], value=Decimal(70))}
    assert any("is more than `limb_two_hand_kg`" in told for told in parameter_faults(heavier))


def test_the_rule_book_keeps_its_bounds_and_orders() -> None:
    assert list(parameter_faults(BOOK)) == []
