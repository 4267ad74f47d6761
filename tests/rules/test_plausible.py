"""Is a possible but odd value accepted with a request to look again?"""

from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.condition import Condition
from service.rules.load import load_book
from service.rules.plan import PlanIds, build_plan
from service.rules.plausible import odd_values
from service.rules.profile import profile_of
from tests.rules.screens import screen


def odd(**patient: Any) -> set[Condition]:
    person = replace(screen().patient, **patient)
    found = odd_values(load_book(), replace(screen(), patient=person))
    return {condition for condition, places in found.items() if places}


@pytest.mark.parametrize(
    ("patient", "expected"),
    [
        ({"age_years": 99}, set()),
        ({"age_years": 100}, {Condition.ODD_AGE}),
        ({"age_years": 104}, {Condition.ODD_AGE}),
        ({"mass_kg": None}, set()),
        ({"mass_kg": Decimal(200), "stature_cm": None}, set()),
        ({"mass_kg": Decimal("200.1"), "stature_cm": None}, {Condition.ODD_MASS}),
        ({"mass_kg": Decimal(250), "stature_cm": Decimal(180)}, {Condition.ODD_MASS}),
        ({"mass_kg": Decimal(35)}, set()),
        ({"mass_kg": Decimal("34.9")}, {Condition.ODD_MASS}),
        # 154 lb is 70 kg: in a kg field it looks like a BMI of 53 at 170 cm
        ({"mass_kg": Decimal(154), "stature_cm": Decimal(170)}, {Condition.MASS_UNIT_DOUBTFUL}),
        # as pounds it would be underweight or heavy, so it is taken as it is
        ({"mass_kg": Decimal(115), "stature_cm": Decimal(170)}, set()),
        ({"mass_kg": Decimal(130), "stature_cm": Decimal(190)}, set()),
        (
            {"mass_kg": Decimal(260), "stature_cm": Decimal(165)},
            {Condition.ODD_MASS},
        ),
    ],
)
def test_only_an_odd_value_is_asked_about(
    patient: dict[str, Any], expected: set[Condition]
) -> None:
    assert odd(**patient) == expected


def test_the_question_changes_no_method() -> None:
    def methods(mass: Decimal) -> list[str]:
        content = replace(screen(), patient=replace(screen().patient, mass_kg=mass))
        content = replace(content, patient=replace(content.patient, stature_cm=Decimal(230)))
        profile = profile_of(load_book(), content, ())
        plan = build_plan(load_book(), content, profile, PlanIds("p", "s", 1))
        asked = [said.text for said in plan.conditions if said.text.startswith("Check this")]
        assert len(asked) == (mass > 200)
        return [each.method for each in plan.moves]

    assert methods(Decimal(200)) == methods(Decimal(201))
