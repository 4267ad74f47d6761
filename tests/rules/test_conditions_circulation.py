"""Is a fall in blood pressure found by its published limits, and with its symptoms?"""

import pytest

from service.domain.condition import Condition
from service.domain.orders import Precaution
from service.domain.readiness import LyingPressure, Orthostatic, StandingPressure, Symptom
from service.domain.screen import Screen
from service.rules.conditions import conditions_of
from service.rules.load import load_book
from tests.rules.screens import orders, readiness, screen

BOOK = load_book()


def found(seen: Screen) -> dict[Condition, list[str]]:
    """Each condition with the places that say so."""
    told = conditions_of(BOOK, seen, ())
    return {name: [finding.path for finding in places] for name, places in told.items()}


def pressures(standing: tuple[int, int], *, from_sitting: bool = False) -> Screen:
    return readiness(orthostatic=orthostatic(standing, from_sitting=from_sitting))


def orthostatic(standing: tuple[int, int], *, from_sitting: bool = False) -> Orthostatic:
    return Orthostatic(
        lying=LyingPressure(systolic_mmhg=130, diastolic_mmhg=80),
        standing=StandingPressure(
            systolic_mmhg=standing[0], diastolic_mmhg=standing[1], minutes_after_standing=1
        ),
        from_sitting=from_sitting,
    )


@pytest.mark.parametrize(
    ("standing", "parts"),
    [
        ((111, 71), []),
        ((110, 71), ["systolic"]),
        ((111, 70), ["diastolic"]),
        ((110, 70), ["systolic", "diastolic"]),
    ],
)
def test_a_fall_of_20_or_10_on_standing_is_an_orthostatic_drop(
    standing: tuple[int, int], parts: list[str]
) -> None:
    paths = [f"/readiness/orthostatic/standing/{part}_mmhg" for part in parts]
    assert found(pressures(standing)).get(Condition.ORTHOSTATIC_DROP, []) == paths


@pytest.mark.parametrize(
    ("standing", "parts"),
    [((116, 74), []), ((115, 74), ["systolic"]), ((116, 73), ["diastolic"])],
)
def test_from_sitting_a_fall_of_15_or_7_is_one(standing: tuple[int, int], parts: list[str]) -> None:
    paths = [f"/readiness/orthostatic/standing/{part}_mmhg" for part in parts]
    seen = found(pressures(standing, from_sitting=True))
    assert seen.get(Condition.ORTHOSTATIC_DROP, []) == paths


@pytest.mark.parametrize("symptom", [Symptom.DIZZINESS, Symptom.FAINTNESS, Symptom.BLURRED_VISION])
def test_a_drop_with_symptoms_is_more_than_a_drop(symptom: Symptom) -> None:
    dropped = readiness(orthostatic=orthostatic((100, 75)), symptoms=[symptom])
    assert found(dropped)[Condition.ORTHOSTATIC_SYMPTOMS] == ["/readiness/symptoms/0"]
    steady = readiness(orthostatic=orthostatic((130, 80)), symptoms=[symptom])
    assert Condition.ORTHOSTATIC_SYMPTOMS not in found(steady)
    ordered = screen(
        orders=orders(Precaution.POSTURAL_HYPOTENSION).orders, readiness=steady.readiness
    )
    assert Condition.ORTHOSTATIC_SYMPTOMS in found(ordered)
    assert Condition.ORTHOSTATIC_SYMPTOMS not in found(pressures((100, 75)))
