"""Is every screen that contradicts itself refused, each contradiction named with its place?"""

from datetime import datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import Phase, given, settings

from service.domain.context import Context
from service.domain.measured_tests import MeasuredTests, Sppb
from service.domain.move import Move
from service.domain.orders import (
    Limb,
    LimbOrder,
    LimbOrders,
    Orders,
    Precaution,
    WeightBearingOrder,
)
from service.domain.readiness import (
    LyingPressure,
    Orthostatic,
    Readiness,
    StandingPressure,
    Symptom,
    VitalSigns,
)
from service.domain.screen import Screen
from service.domain.sense import faults_of
from service.domain.sense_rules import RULES
from service.domain.stages import Stages
from service.domain.subject import Sex, Subject
from service.domain.value import Identifier
from tests.strategies import NOW, screens

OBSERVED = datetime(2026, 3, 4, 8, 15, tzinfo=timezone(timedelta(hours=1)))
H1 = Identifier(system="urn:oid:2.999.7", value="H-1")


def screen(**parts: Any) -> Screen:
    least: dict[str, Any] = {
        "patient": subject(),
        "observed_at": OBSERVED,
        "orders": Orders(precautions=[]),
        "readiness": Readiness(),
        "stages": Stages(),
    }
    return Screen(**{**least, **parts})


def subject(**parts: Any) -> Subject:
    if "birth_date" not in parts:
        parts.setdefault("age_years", 80)
    return Subject(identifier=H1, **parts)


def found(one: Screen, now: datetime = NOW) -> list[tuple[str, str]]:
    faults = faults_of(one, now)
    assert all(fault.text == RULES[fault.rule] for fault in faults)
    return [(fault.path, fault.rule) for fault in faults]


@settings(max_examples=40, phases=[Phase.explicit, Phase.generate])
@given(screens())
def test_a_screen_that_makes_sense_has_no_fault(one: Screen) -> None:
    assert found(one) == []


def test_the_least_screen_makes_sense() -> None:
    assert found(screen()) == []


def test_a_screen_may_be_five_minutes_ahead_and_no_more() -> None:
    assert found(screen(), now=OBSERVED - timedelta(minutes=5)) == []
    assert found(screen(), now=OBSERVED - timedelta(minutes=5, seconds=1)) == [
        ("/observed_at", "sense.observed_in_future")
    ]


@pytest.mark.parametrize("year", [1, 1899])
def test_a_screen_before_1900_is_refused_to_the_end_of_the_calendar(year: int) -> None:
    early = datetime(year, 1, 1, tzinfo=timezone(timedelta(hours=14)))
    assert found(screen(observed_at=early)) == [("/observed_at", "sense.before_1900")]


def test_percent_goes_with_a_partial_order_and_with_no_other() -> None:
    orders = LimbOrders(
        left_leg=LimbOrder(order=WeightBearingOrder.PWB),
        right_leg=LimbOrder(order=WeightBearingOrder.NWB, percent=20),
        left_arm=LimbOrder(order=WeightBearingOrder.PWB, percent=50),
        right_arm=LimbOrder(order=WeightBearingOrder.FWB),
    )
    assert found(screen(orders=Orders(precautions=[], weight_bearing=orders))) == [
        ("/orders/weight_bearing/left_leg/percent", "sense.percent_missing"),
        ("/orders/weight_bearing/right_leg/percent", "sense.percent_unexpected"),
    ]


def test_no_weight_on_either_leg_is_an_order_like_any_other() -> None:
    none = LimbOrder(order=WeightBearingOrder.NWB)
    orders = Orders(precautions=[], weight_bearing=LimbOrders(left_leg=none, right_leg=none))
    assert found(screen(orders=orders)) == []


def test_a_prosthesis_needs_its_amputation() -> None:
    worn = [Limb.LEFT_LEG, Limb.RIGHT_LEG]
    orders = Orders(precautions=[Precaution.AMPUTATION_LEFT_LEG], prosthesis_worn=worn)
    assert found(screen(orders=orders)) == [
        ("/orders/prosthesis_worn/1", "sense.prosthesis_without_amputation")
    ]


@pytest.mark.parametrize(
    ("parts", "path"),
    [
        (
            {"orders": Orders(precautions=[Precaution.HIP, Precaution.KNEE, Precaution.HIP])},
            "/orders/precautions/2",
        ),
        (
            {
                "orders": Orders(
                    precautions=[Precaution.AMPUTATION_LEFT_LEG],
                    prosthesis_worn=[Limb.LEFT_LEG, Limb.LEFT_LEG],
                )
            },
            "/orders/prosthesis_worn/1",
        ),
        (
            {"readiness": Readiness(symptoms=[Symptom.NAUSEA, Symptom.NAUSEA])},
            "/readiness/symptoms/1",
        ),
        ({"context": Context(moves=[Move.WALK, Move.WALK])}, "/context/moves/1"),
    ],
)
def test_an_entry_listed_twice_is_named(parts: dict[str, Any], path: str) -> None:
    assert found(screen(**parts)) == [(path, "sense.repeated")]


def test_diastolic_stands_below_systolic_wherever_pressure_is_taken() -> None:
    readiness = Readiness(
        vital_signs=VitalSigns(systolic_mmhg=100, diastolic_mmhg=100),
        orthostatic=Orthostatic(
            lying=LyingPressure(systolic_mmhg=90, diastolic_mmhg=95),
            standing=StandingPressure(
                systolic_mmhg=80, diastolic_mmhg=80, minutes_after_standing=1
            ),
        ),
    )
    rule = "sense.diastolic_not_below_systolic"
    assert found(screen(readiness=readiness)) == [
        ("/readiness/vital_signs/diastolic_mmhg", rule),
        ("/readiness/orthostatic/lying/diastolic_mmhg", rule),
        ("/readiness/orthostatic/standing/diastolic_mmhg", rule),
    ]


@pytest.mark.parametrize(
    ("vital", "sensible"),
    [
        (VitalSigns(mean_arterial_mmhg=80), True),
        (VitalSigns(systolic_mmhg=120, mean_arterial_mmhg=120), True),
        (VitalSigns(systolic_mmhg=120, mean_arterial_mmhg=121), False),
        (VitalSigns(diastolic_mmhg=70, mean_arterial_mmhg=70), True),
        (VitalSigns(diastolic_mmhg=70, mean_arterial_mmhg=69), False),
        (VitalSigns(systolic_mmhg=120), True),
    ],
)
def test_mean_pressure_lies_between_the_two(vital: VitalSigns, sensible: bool) -> None:  # noqa: FBT001
    path = "/readiness/vital_signs/mean_arterial_mmhg"
    expected = [] if sensible else [(path, "sense.mean_outside")]
    assert found(screen(readiness=Readiness(vital_signs=vital))) == expected


@pytest.mark.parametrize(
    ("semi_tandem", "tandem", "sensible"),
    [(None, None, True), (None, 0, True), (None, 3, False), (10, 3, True), (0, 3, True)],
)
def test_tandem_is_not_held_by_one_unable_to_stand_in_semi_tandem(
    semi_tandem: int | None,
    tandem: int | None,
    sensible: bool,  # noqa: FBT001
) -> None:
    battery = Sppb(
        side_by_side_s=Decimal(10),
        semi_tandem_s=None if semi_tandem is None else Decimal(semi_tandem),
        tandem_s=None if tandem is None else Decimal(tandem),
        chair_stands_s=None,
        gait_4m_s=None,
    )
    expected = [] if sensible else [("/tests/sppb/tandem_s", "sense.stance_order")]
    assert found(screen(tests=MeasuredTests(sppb=battery))) == expected


def test_every_fault_is_listed_in_the_order_of_the_fields() -> None:
    one = screen(
        patient=subject(age_years=3, pregnant=True, sex=Sex.MALE),
        readiness=Readiness(symptoms=[Symptom.NAUSEA, Symptom.NAUSEA]),
        location=" ward",
    )
    assert found(one) == [
        ("/patient/age_years", "sense.adults_only"),
        ("/patient/pregnant", "sense.pregnant_male"),
        ("/readiness/symptoms/1", "sense.repeated"),
        ("/location", "sense.outer_space"),
    ]
