"""Does the whole plan say which moves, until when, and what a clinician must settle?"""

from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from hypothesis import given, settings
from msgspec.structs import replace

from service.domain.axis import Axis
from service.domain.condition import Condition
from service.domain.context import FloorInjury, OnTheFloor, Setting
from service.domain.move import Move
from service.domain.orders import Precaution
from service.domain.plan import Plan, PlanState
from service.domain.requirement import Absent
from service.domain.screen import Screen
from service.domain.stages import Rise
from service.rules.load import load_book
from service.rules.norms import score_tests
from service.rules.plan import PlanIds, build_plan, may_move
from service.rules.profile import profile_of
from tests.rules.profiles import best_but
from tests.rules.screens import (
    context,
    limbs,
    orders,
    patient,
    readiness,
    screen,
    stages,
    stood,
    vital_signs,
)
from tests.strategies import screens

BOOK = load_book()
IDS = PlanIds("plan-1", "screen-1", 3)


def plan(content: Screen) -> Plan:
    tests = score_tests(BOOK, content)
    return build_plan(BOOK, content, profile_of(BOOK, content, tests), IDS)


def test_a_new_plan_is_current_names_its_screen_and_belongs_to_nobody_yet() -> None:
    made = plan(screen())
    assert (made.id, made.screen_id, made.screen_version) == ("plan-1", "screen-1", 3)
    assert (made.version, made.state, made.patient_id) == (1, PlanState.CURRENT, "")
    assert (made.replaces, made.rule_book) == (None, BOOK.ref)


def test_without_a_wish_every_move_is_answered_but_up_from_the_floor() -> None:
    assert [each.move for each in plan(screen()).moves] == [
        move for move in Move if move != Move.UP_FROM_FLOOR
    ]


def test_on_the_floor_getting_up_is_answered_too() -> None:
    lying = context(on_the_floor=OnTheFloor(injury=FloorInjury.NONE))
    assert [each.move for each in plan(lying).moves] == list(Move)


def test_the_moves_asked_for_are_answered_in_their_order_and_no_other() -> None:
    wanted = [Move.WALK, Move.UP_FROM_FLOOR, Move.BED_TO_CHAIR]
    made = plan(context(moves=wanted))
    assert [each.move for each in made.moves] == wanted
    assert [each.move for each in made.while_lapsed] == wanted


HOURS = [
    (Setting.ACUTE, 12, 24),
    (Setting.REHABILITATION, 24, 72),
    (Setting.LONG_TERM_CARE, 7 * 24, 30 * 24),
    (Setting.HOME, 7 * 24, 30 * 24),
]


@pytest.mark.parametrize(("setting", "assisted", "alone"), HOURS)
def test_a_plan_holds_by_setting_and_shorter_where_anyone_is_assisted(
    setting: Setting, assisted: int, alone: int
) -> None:
    walks = replace(context(moves=[Move.WALK]), setting=setting)
    helped = replace(walks, stages=stages(rise=Rise()).stages)
    for content, hours in ((walks, alone), (helped, assisted)):
        made = plan(content)
        assert made.valid_until - made.valid_from == timedelta(hours=hours)
        assert made.rescreen_due == made.valid_until


def test_a_plan_begins_when_the_person_was_seen_told_in_utc() -> None:
    seen_at = datetime(2026, 3, 4, 23, 30, tzinfo=timezone(timedelta(hours=-9.5)))
    begins = plan(screen(observed_at=seen_at)).valid_from
    assert begins == seen_at
    assert begins.tzinfo is UTC and begins.isoformat() == "2026-03-05T09:00:00+00:00"


def test_while_lapsed_the_most_supported_workable_method_is_told() -> None:
    told = {each.move: each for each in plan(screen()).while_lapsed}
    assert (told[Move.BED_TO_CHAIR].method, told[Move.BED_TO_CHAIR].helpers) == ("sling_lift", 2)
    withheld = plan(readiness(rass=4)).while_lapsed
    assert {(each.method, each.helpers) for each in withheld} == {("do_not_move", None)}


def confirmed(content: Screen) -> list[str]:
    return [said.rule for said in plan(content).conditions]


def test_nothing_is_left_to_a_clinician_for_an_able_adult() -> None:
    assert confirmed(screen()) == []


def test_what_is_reviewed_is_left_to_a_clinician_with_the_value_seen() -> None:
    (said,) = plan(vital_signs(heart_rate_per_min=135)).conditions
    parameter = BOOK.parameters["heart_rate_review_above"]
    assert said.rule == "clearance.heart_rate_review_above"
    assert said.text == f"{parameter.what} (seen: 135)."
    assert (said.source, said.standing) == (parameter.source, parameter.standing)


def test_what_is_withheld_is_not_left_to_be_confirmed() -> None:
    fast = vital_signs(heart_rate_per_min=135, spo2_percent=Decimal(80))
    assert [rule for rule in confirmed(fast) if rule.startswith("clearance.")] == []


@pytest.mark.parametrize(
    ("content", "rule"),
    [
        (orders(Precaution.SPINE_UNSTABLE), "condition.unstable_spine"),
        (orders(Precaution.UNSTABLE_MAJOR_FRACTURE), "condition.unstable_major_fracture"),
        (patient(pregnant=True), "condition.pregnancy"),
        (orders(weight_bearing=limbs(left_leg="NWB")), "condition.order_conflict"),
        (patient(mass_kg=None), "condition.mass_unknown"),
    ],
)
def test_a_condition_that_needs_a_clinician_says_so(content: Screen, rule: str) -> None:
    assert rule in confirmed(content)


@pytest.mark.parametrize(
    ("knee", "low", "high"),
    [("40", 40, 48), ("41.3", 42, 49), (None, None, None)],
)
def test_the_seat_to_practise_from_is_told_in_whole_centimetres_inside_its_share(
    knee: str | None, low: int | None, high: int | None
) -> None:
    content = replace(
        patient(popliteal_height_cm=None if knee is None else Decimal(knee)),
        stages=stages(timed_stand=stood("30")).stages,
    )
    made = plan(content).exercise
    assert made is not None
    assert (made.seat_height_percent_low, made.seat_height_percent_high) == (100, 120)
    assert (made.seat_height_cm_low, made.seat_height_cm_high) == (low, high)


def test_no_goal_and_no_exercise_while_movement_is_withheld_or_not_known() -> None:
    for rass in (4, None):
        made = plan(readiness(rass=rass))
        assert (made.goals, made.exercise) == ((), None)
    for grade, moves in (("clear", True), ("review", True), ("withhold", False)):
        assert may_move(best_but({Axis.CLEARANCE: grade})) is moves


ENDS_A_PLAN = {
    "rescreen.fall",
    "rescreen.buckling",
    "rescreen.new_sedation",
    "rescreen.surgery",
    "rescreen.changed_order",
    "rescreen.rass_change",
    "rescreen.new_dizziness",
    "rescreen.transfer_of_unit",
}


def test_the_standing_notice_and_the_triggers_are_in_every_plan() -> None:
    for content in (screen(), readiness(rass=4)):
        made = plan(content)
        assert [said.rule for said in made.notices] == [rule.rule for rule in BOOK.notices]
        first = made.notices[0].text
        for comes_first in ("policy", "maker's instructions", "judgement"):
            assert comes_first in first
        assert {said.rule for said in made.rescreen_when} == ENDS_A_PLAN


def test_a_sentence_about_the_whole_plan_is_left_out_where_its_check_holds() -> None:
    no_tubes = Absent(
        "plan.no_tubes_or_lines",
        Condition.TUBES_OR_LINES,
        "Lines",
        BOOK.notices[0].citation,
    )
    minded = replace(BOOK.notices[0], rule="notice.mind_the_lines", unless=no_tubes)
    book = replace(BOOK, notices=(*BOOK.notices, minded))

    def told(content: Screen) -> bool:
        made = build_plan(book, content, profile_of(book, content, ()), IDS)
        return "notice.mind_the_lines" in {said.rule for said in made.notices}

    assert told(orders(Precaution.TUBES_OR_LINES))
    assert not told(screen())


@settings(max_examples=50)
@given(screens())
def test_every_move_gets_one_answer_with_a_source_and_always_the_same(drawn: Screen) -> None:
    made = plan(drawn)
    assert made == plan(drawn)
    moves = [each.move for each in made.moves]
    assert len(moves) == len(set(moves))
    for each in made.moves:
        assert each.because
        assert {reason.source for reason in each.because} <= set(BOOK.sources)
        assert each.method in BOOK.methods
