"""Is the choice for a move written so that it can be followed?"""

from decimal import Decimal
from typing import Any

import pytest

from service.domain.axis import Axis, Number
from service.domain.condition import Condition
from service.domain.context import Context, DeviceAtHand
from service.domain.move import Move
from service.domain.plan import Brakes, PlannedMove
from service.domain.profile import Profile
from service.rules.evaluate import Judge
from service.rules.load import load_book
from service.rules.planned_move import due, planned
from service.rules.select import select
from tests.rules.profiles import BEST, TOLD, best, best_but, profile

BOOK = load_book()
WEAK: dict[Axis, str] = {Axis.STEP: "none"}


def plan(
    seen: Profile, move: Move = Move.BED_TO_CHAIR, context: Context | None = None
) -> PlannedMove:
    rules, judge, place = BOOK.moves[move], Judge(seen), context or Context()
    return planned(BOOK, rules, select(BOOK, rules, judge, place), judge, place)


def accessories(seen: Profile, move: Move = Move.BED_TO_CHAIR) -> set[str]:
    return {each.accessory for each in plan(seen, move).accessories}


def test_a_planned_move_names_its_method_helpers_training_and_device() -> None:
    told = plan(best_but(WEAK))
    assert (told.move, told.method, told.helpers) == (Move.BED_TO_CHAIR, "stand_aid", 1)
    assert (told.move_title, told.method_title) == (
        BOOK.moves[Move.BED_TO_CHAIR].title,
        BOOK.methods["stand_aid"].title,
    )
    assert told.training == BOOK.methods["stand_aid"].training
    assert told.device is not None and told.device.device_class == "stand_aid"
    assert told.plain.startswith(f"{told.move_title}: ") and told.plain.endswith("Helpers: 1.")


def test_what_needs_no_device_names_none() -> None:
    assert plan(best()).device is None


def test_a_device_at_hand_is_named_by_its_label() -> None:
    aid = DeviceAtHand(device_class="stand_aid", safe_working_load_kg=Decimal(200), label="Aid 3")
    told = plan(best_but(WEAK), context=Context(devices=[aid])).device
    assert told is not None and told.label == "Aid 3"


def test_expanded_capacity_is_asked_of_what_carries_a_very_heavy_person() -> None:
    heavy = plan(best_but(WEAK, Condition.VERY_HEAVY)).device
    assert heavy is not None and heavy.expanded_capacity
    usual = plan(best_but(WEAK)).device
    assert usual is not None and not usual.expanded_capacity
    belt = plan(best_but({Axis.STEP: "helped"}, Condition.VERY_HEAVY)).device
    assert belt is not None and belt.device_class == "transfer_belt"
    assert not belt.expanded_capacity


@pytest.mark.parametrize(
    ("grades", "seconds", "conditions"),
    [
        ({Axis.SITTING: "supported"}, "60", ()),
        ({}, "60", (Condition.LEANING_BACK,)),
        ({}, "29.9", ()),
        ({Axis.KNEE_WEAKER: "3"}, "60", ()),
    ],
)
def test_who_may_lean_back_sits_with_a_back_strap(
    grades: dict[Axis, str], seconds: str, conditions: tuple[Condition, ...]
) -> None:
    told = TOLD | {Number.STANDING_TIME_S: Decimal(seconds)}
    assert "back_support_strap" in accessories(profile(BEST | WEAK | grades, told, *conditions))
    assert "back_support_strap" not in accessories(best_but(WEAK))


def test_each_accessory_is_named_once_with_every_reason() -> None:
    seen = best_but(WEAK | {Axis.SITTING: "supported"}, Condition.LEANING_BACK)
    (strap,) = (each for each in plan(seen).accessories if each.accessory == "back_support_strap")
    whys = [
        rule.why
        for rule in BOOK.methods["stand_aid"].accessories
        if rule.rule in ("stand_aid.back_support_strap.sitting", strap.rule)
        or rule.rule.endswith("leaning_back")
    ]
    assert strap.reason == "; ".join(dict.fromkeys(whys))
    assert strap.source in BOOK.sources


def test_legs_that_move_by_themselves_are_held_by_a_calf_strap() -> None:
    assert "calf_strap" in accessories(best_but({}, Condition.SPASMS))
    assert "calf_strap" not in accessories(best_but(WEAK))


def test_the_footplate_comes_off_for_walking() -> None:
    walks = best_but({Axis.COOPERATION: "prompted"}, Condition.STOMA)
    assert plan(walks, Move.WALK).method == "stand_aid"
    assert "footplate_off" in accessories(walks, Move.WALK)
    assert "footplate_off" not in accessories(walks)


def test_the_brakes_are_locked_to_rise_released_to_move_and_locked_to_sit() -> None:
    brakes = [step.brakes for step in plan(best_but(WEAK)).steps]
    held = [each for each in brakes if each != Brakes.NOT_APPLICABLE]
    turns = [each for each, before in zip(held, [None, *held], strict=False) if each != before]
    assert turns[:3] == [Brakes.LOCKED, Brakes.RELEASED, Brakes.LOCKED]


@pytest.mark.parametrize("move", Move)
def test_every_move_has_steps_stop_signs_and_a_reason_with_a_source(move: Move) -> None:
    for seen in (best(), best_but(WEAK), profile({})):
        told = plan(seen, move)
        assert told.steps
        assert told.stop_signs or told.helpers is None
        assert told.because
        assert {reason.source for reason in told.because} <= set(BOOK.sources)


def test_a_condition_warns_of_every_move_and_not_where_nobody_is_moved() -> None:
    def warned(grades: dict[Axis, str]) -> list[str]:
        told = plan(best_but(grades, Condition.TUBES_OR_LINES)).cautions
        return [each.rule for each in told if each.rule == "condition.tubes_or_lines"]

    assert warned(WEAK) == ["condition.tubes_or_lines"]
    assert warned({Axis.CLEARANCE: "withhold"}) == []


def test_a_person_without_conditions_is_warned_of_none() -> None:
    told = plan(best_but(WEAK)).cautions
    assert [each.rule for each in told if each.rule.startswith("condition.")] == []


def test_steps_and_cautions_of_another_move_are_left_out() -> None:
    seen = best_but({Axis.COOPERATION: "prompted"}, Condition.STOMA)
    off = "Take the foot plate off, so that the feet stand on the floor."
    for move, walks in ((Move.WALK, True), (Move.BED_TO_CHAIR, False)):
        told = plan(seen, move)
        assert told.method == "stand_aid"
        assert (off in {step.text for step in told.steps}) is walks
        assert "stand_aid.not_from_behind" not in {each.rule for each in told.cautions}


def test_who_stands_only_for_a_short_time_is_seated_at_once() -> None:
    for seconds, soon in (("9.9", True), ("10", False)):
        told = plan(profile(BEST | WEAK, TOLD | {Number.STANDING_TIME_S: Decimal(seconds)}))
        assert told.method == "stand_aid"
        assert ("stand_aid.sit_soon" in {each.rule for each in told.cautions}) is soon


def test_who_waits_is_told_for_what() -> None:
    told = plan(best_but(WEAK), context=Context(trained_helpers=0))
    assert (told.method, told.helpers) == ("do_not_move", None)
    (wait,) = told.wait_for
    assert wait == "Not enough trained helpers are there: needs at least 1."
    assert told.plain == f"{told.move_title}: wait. {wait}"


def test_who_is_withheld_waits_for_nothing() -> None:
    told = plan(best_but({Axis.CLEARANCE: "withhold"}), context=Context(trained_helpers=0))
    assert told.wait_for == ()
    assert "wait" not in told.plain
    assert "Helpers" not in told.plain


def test_a_sentence_is_due_on_its_moves_and_unless_its_check_holds() -> None:
    no_stoma = next(
        each
        for each in BOOK.methods["belt_steadied"].requires
        if each.rule == "belt_steadied.no_stoma"
    )
    well, hurt = Judge(best()), Judge(best(Condition.STOMA))
    walk, anywhere = frozenset({Move.WALK}), frozenset[Any]()
    assert due(None, anywhere, Move.BED_TO_CHAIR, well)
    assert due(None, walk, Move.WALK, well)
    assert not due(None, walk, Move.BED_TO_CHAIR, well)
    assert due(no_stoma, anywhere, Move.WALK, hurt)
    assert not due(no_stoma, anywhere, Move.WALK, well)
