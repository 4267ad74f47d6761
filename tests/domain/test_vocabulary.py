"""Is every closed word written once, the same way everywhere?"""

import importlib
import pkgutil
import re
from collections.abc import Iterator
from enum import EnumType, StrEnum

import pytest

import service.domain
from service.domain.condition import Condition
from service.domain.measured_tests import MeasuredTests
from service.domain.move import Move
from service.domain.orders import Precaution, WeightBearingOrder
from service.domain.stages import Sign, Stage, Stages, StandEnd

TRADE_ABBREVIATIONS = (WeightBearingOrder,)


def enums() -> Iterator[EnumType]:
    for found in pkgutil.iter_modules(service.domain.__path__):
        module = importlib.import_module(f"service.domain.{found.name}")
        for each in vars(module).values():
            if isinstance(each, EnumType) and each.__module__ == module.__name__:
                yield each


def test_the_domain_has_closed_vocabularies() -> None:
    assert {Move, Condition, Precaution, Stage} <= set(enums())


@pytest.mark.parametrize("vocabulary", [*enums()], ids=lambda each: each.__name__)
def test_every_word_is_unique_and_in_snake_case(vocabulary: type[StrEnum]) -> None:
    assert issubclass(vocabulary, StrEnum)
    names = vocabulary.__members__
    assert len({each.value for each in names.values()}) == len(names), "one word, two names"
    if vocabulary in TRADE_ABBREVIATIONS:
        assert all(re.fullmatch(r"[A-Z]{3,4}", each) for each in vocabulary)
        return
    for name, each in names.items():
        assert re.fullmatch(r"[a-z][a-z0-9]*(_[a-z0-9]+)*", each.value)
        assert each.value == name.lower()


def test_the_stages_are_the_fields_of_a_screen_in_the_order_they_are_done() -> None:
    assert (
        Stages.__struct_fields__
        == tuple(Stage)
        == (
            "sitting_balance",
            "forward_lean",
            "arm_pull",
            "knee_extension",
            "rise",
            "weight_shift",
            "heel_raise",
            "foot_lift",
            "timed_stand",
        )
    )


def test_a_timed_stand_ends_by_any_sign_but_refusal_and_leaning_back() -> None:
    """Who refuses did not begin, and leaning back is seen before it ends a stand."""
    assert set(Sign) - set(StandEnd) == {Sign.REFUSAL, Sign.LEANING_BACK}


def test_the_weight_bearing_orders_are_listed_least_first() -> None:
    assert [str(order) for order in WeightBearingOrder] == ["NWB", "TTWB", "PWB", "WBAT", "FWB"]


def test_a_precaution_for_one_limb_names_its_side() -> None:
    sided = [each for each in Precaution if each.startswith(("shoulder_injury", "amputation"))]
    assert len(sided) == 6
    assert all("left" in each or "right" in each for each in sided)


def test_there_are_sixteen_moves_and_nine_tests() -> None:
    assert len(Move) == 16
    assert len(MeasuredTests.__struct_fields__) == 9
