"""Is what a helper would hold up told for each method, against what one may?"""

from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.move import Move
from service.domain.plan import PlannedMove
from service.domain.readiness import Cooperation
from service.domain.screen import Screen
from service.domain.stages import Help, Outcome, Rise, Sides
from service.rules.helper_load import helpers_for
from service.rules.load import load_book
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of
from tests.rules.screens import FAILED, patient, screen, stages

BOOK = load_book()
LIMIT = Decimal("15.9")


def planned(content: Screen, move: Move) -> PlannedMove:
    profile = profile_of(BOOK, content, ())
    plan = build_plan(BOOK, content, profile, PlanIds("p", "s", 1))
    return next(each for each in plan.moves if each.move == move)


def lifted(mass: str | None = "70.0", **lift: Any) -> Screen:
    rise = Rise(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.LIFTING, **lift)
    content = replace(screen(), stages=replace(screen().stages, rise=rise))
    known = None if mass is None else Decimal(mass)
    return replace(content, patient=replace(content.patient, mass_kg=known))


@pytest.mark.parametrize(
    ("kg", "helpers"),
    # Waters 2007 (published, restatement seen): 35 lb a helper; 180 lb bearing half asks for three
    [("0", 0), ("15.9", 1), ("16.0", 2), ("40.8", 3)],
)
def test_the_load_over_the_limit_gives_the_helpers(kg: str, helpers: int) -> None:
    assert helpers_for(Decimal(kg), LIMIT) == helpers


@pytest.mark.parametrize(
    ("content", "kg", "within", "helpers"),
    [
        (lifted(lift_kg=Decimal("12.5")), "12.5", True, 1),
        (lifted(lift_kg=Decimal("15.9")), "15.9", True, 1),
        (lifted(lift_kg=Decimal(16)), "16", False, 2),
        # 180 lb (81.6 kg) of which half is held up: 40.8 kg
        (lifted("81.6", lift_percent=50), "40.8", False, 3),
        # both told: the greater counts
        (lifted("80", lift_kg=Decimal(10), lift_percent=25), "20", False, 2),
        (lifted(), None, False, None),
        (lifted(None, lift_percent=50), None, False, None),
    ],
)
def test_the_body_load_of_a_candidate_is_told(
    content: Screen, kg: str | None, *, within: bool, helpers: int | None
) -> None:
    plan = planned(content, Move.BED_TO_CHAIR)
    belt = next(each for each in plan.ruled_out if each.method == "belt_steadied")
    (load,) = belt.loads
    assert load.what == "body"
    assert load.kg == (None if kg is None else Decimal(kg))
    assert (load.limit_kg, load.within, load.helpers_by_load) == (LIMIT, within, helpers)
    assert load.lowered_by
    assert plan.method in ("powered_stand_lift", "transfer_board", "sling_lift")
    assert plan.loads == ()


def test_of_a_person_who_does_not_cooperate_nothing_may_be_held_up() -> None:
    content = lifted(lift_kg=Decimal(5))
    ready = replace(content.readiness, cooperation=Cooperation.COMBATIVE)
    plan = planned(replace(content, readiness=ready), Move.BED_TO_CHAIR)
    belt = next(each for each in plan.ruled_out if each.method == "belt_steadied")
    assert (belt.loads[0].limit_kg, belt.loads[0].within) == (Decimal(0), False)
    assert plan.method == "sling_lift"


@pytest.mark.parametrize(
    ("mass", "kg", "within"),
    # Waters 2011 (published, restatement seen): a leg is 15.7 % of the mass, 10.1 kg by two hands
    [("64.0", "10.1", True), ("65.0", "10.3", False), ("100.0", "15.7", False)],
)
def test_a_leg_to_be_brought_into_bed_is_weighed(mass: str, kg: str, *, within: bool) -> None:
    content = patient(mass_kg=Decimal(mass))
    weak = replace(content.stages, foot_lift=Sides(left=FAILED, right=FAILED))
    plan = planned(replace(content, stages=weak), Move.CHAIR_TO_BED)
    leg = next(load for load in plan.loads if load.what == "leg")
    assert (leg.kg, leg.limit_kg, leg.within) == (Decimal(kg), Decimal("10.1"), within)
    lifter = [each for each in plan.accessories if each.accessory == "leg_lifter"]
    assert bool(lifter) == (not within)


def test_who_lifts_their_own_feet_needs_no_leg_lifted() -> None:
    plan = planned(stages(), Move.CHAIR_TO_BED)
    assert [load.what for load in plan.loads] == ["body"]
    assert [load.what for load in planned(stages(), Move.BED_TO_CHAIR).loads] == ["body"]
