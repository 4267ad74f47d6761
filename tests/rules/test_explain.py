"""Does the plan say what would open more, what to ask next, and all of it plainly?"""

import re
from decimal import Decimal
from typing import Any

import pytest
from msgspec.structs import replace

from service.domain.axis import GRADES, Axis, Number
from service.domain.context import Context, OnTheFloor, Stretcher
from service.domain.move import Move
from service.domain.plan import PlannedMove
from service.domain.profile import AxisGrade, NumberSeen, Profile
from service.domain.requirement import Absent, AnyOf, Limit, Need
from service.domain.screen import Screen
from service.domain.stages import Help, KneeExtension, Outcome, Rise, Sides, TimedStand
from service.rules.evaluate import Judge
from service.rules.explain import strictest, would_open
from service.rules.load import load_book
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of
from service.rules.select import select
from tests.rules.screens import ABLE, FAILED, screen

BOOK = load_book()


def planned(content: Screen, move: Move) -> PlannedMove:
    profile = profile_of(BOOK, content, ())
    plan = build_plan(BOOK, content, profile, PlanIds("p", "s", 1))
    return next(each for each in plan.moves if each.move == move)


def with_stages(**stages: Any) -> Screen:
    return replace(screen(), stages=replace(screen().stages, **stages))


def without(content: Screen, **context: Any) -> Screen:
    return replace(content, context=replace(content.context, **context))


def test_nothing_is_more_active_than_alone() -> None:
    plan = planned(screen(), Move.BED_TO_CHAIR)
    assert (plan.method, plan.would_open, plan.ask_next) == ("unaided", None, None)
    assert len(plan.why) == 1


def test_the_changes_named_do_open_the_method_and_none_fewer_does() -> None:
    """Exact: all of them open it, and leaving any one out keeps it shut."""
    content = with_stages(
        weight_shift=Sides(left=ABLE, right=FAILED),
        timed_stand=TimedStand(seconds=Decimal(20)),
    )
    profile = profile_of(BOOK, content, ())
    choice = select(BOOK, BOOK.moves[Move.BED_TO_CHAIR], Judge(profile), Context())
    opens = would_open(choice, Judge(profile))
    assert opens is not None
    assert opens.method == "belt_steadied"
    assert {change.about for change in opens.changes} == {"shift", "standing_time_s"}
    better = {"shift": ("able", None), "standing_time_s": (None, Decimal(30))}
    for left_out in (None, *better):
        changed = profile
        for about, (grade, number) in better.items():
            if about != left_out:
                changed = _better(changed, about, grade, number)
        again = select(BOOK, BOOK.moves[Move.BED_TO_CHAIR], Judge(changed), Context())
        assert (again.option.method.id == "belt_steadied") == (left_out is None)


def _better(profile: Profile, about: str, grade: str | None, number: Decimal | None) -> Profile:
    if grade is not None:
        return replace(profile, axes=profile.axes | {Axis(about): AxisGrade(grade)})
    return replace(profile, numbers=profile.numbers | {Number(about): NumberSeen(number)})


def test_several_demands_on_one_fact_are_one_change() -> None:
    option = BOOK.moves[Move.WALK].options[-2]
    assert option.method.id == "stand_aid"
    limits = [r for r in option.requires if isinstance(r, Limit) and r.comparison == "at_least"]
    assert sorted(limit.value for limit in limits) == [50, 100]
    needs = [r for r in option.requires if isinstance(r, Need)]
    lower = [replace(need, grade=GRADES[need.axis][1]) for need in needs]
    kept = strictest([*lower, *limits, *needs, *reversed(lower)])
    assert sorted(each.grade for each in kept if isinstance(each, Need)) == sorted(
        need.grade for need in needs
    )
    assert [each.value for each in kept if isinstance(each, Limit)] == [100]
    under = [replace(limits[0], comparison="below", value=value) for value in (9, 5, 7)]
    assert strictest(under) == (under[1],)
    absent = next(r for r in option.requires if isinstance(r, Absent))
    assert strictest([absent, absent]) == (absent,)


@pytest.mark.parametrize(
    ("content", "move", "path", "opens"),
    [
        # nobody timed the stand: it alone keeps the person from going alone
        (
            with_stages(timed_stand=TimedStand()),
            Move.BED_TO_CHAIR,
            "/stages/timed_stand",
            "unaided",
        ),
        (
            replace(screen(), readiness=replace(screen().readiness, rass=None)),
            Move.TURN_IN_BED,
            "/readiness/rass",
            "unaided",
        ),
        (
            replace(screen(), patient=replace(screen().patient, falls_last_12_months=None)),
            Move.BED_TO_CHAIR,
            "/patient/falls_last_12_months",
            "unaided",
        ),
        (
            with_stages(knee_extension=KneeExtension()),
            Move.BED_TO_CHAIR,
            "/stages/knee_extension",
            "unaided",
        ),
        (
            without(
                with_stages(weight_shift=Sides(left=ABLE, right=FAILED)), stretcher=Stretcher()
            ),
            Move.CHAIR_TO_STRETCHER,
            "/context/stretcher/lowers_to_seat_height",
            "stand_aid",
        ),
        (
            without(screen(), on_the_floor=OnTheFloor(gets_up_alone=True)),
            Move.UP_FROM_FLOOR,
            "/context/on_the_floor/injury",
            "standby",
        ),
    ],
)
def test_the_one_unknown_thing_that_matters_is_asked_next(
    content: Screen, move: Move, path: str, opens: str
) -> None:
    asked = planned(content, move).ask_next
    assert asked is not None
    assert (asked.path, asked.opens) == (path, opens)
    assert asked.text.endswith("?")


def test_two_unknown_things_at_once_are_no_single_question() -> None:
    content = with_stages(timed_stand=TimedStand(), knee_extension=KneeExtension())
    assert planned(content, Move.WALK).ask_next is None


def test_what_is_known_to_fall_short_is_not_asked_again() -> None:
    """A knee not graded keeps the stand aid shut; the methods before it fail on what was seen."""
    uneven = Sides(left=ABLE, right=FAILED)
    content = with_stages(weight_shift=uneven, knee_extension=KneeExtension())
    asked = planned(content, Move.BED_TO_CHAIR).ask_next
    assert asked is not None
    assert (asked.path, asked.opens) == ("/stages/knee_extension", "stand_aid")


def test_a_known_condition_is_not_asked_again() -> None:
    fell = replace(screen(), patient=replace(screen().patient, falls_last_12_months=2))
    plan = planned(fell, Move.BED_TO_CHAIR)
    assert (plan.method, plan.ask_next) == ("standby", None)


def test_a_lift_that_nobody_estimated_is_asked_for() -> None:
    lifted = Rise(outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.LIFTING)
    plan = planned(with_stages(rise=lifted), Move.REPOSITION_IN_CHAIR)
    assert plan.ask_next is not None
    assert (plan.ask_next.path, plan.ask_next.opens) == ("/stages/rise", "knee_push")


def test_an_either_or_is_asked_by_the_part_that_can_be_answered() -> None:
    """Deeply sedated and not weighed: the weight decides whether a sheet may be used."""
    content = replace(
        screen(),
        readiness=replace(screen().readiness, anaesthetised=True),
        patient=replace(screen().patient, mass_kg=None),
    )
    plan = planned(content, Move.BED_TO_STRETCHER)
    assert plan.method == "air_transfer_mat"
    assert plan.ask_next is not None
    assert (plan.ask_next.path, plan.ask_next.opens) == ("/patient/mass_kg", "slide_sheet")
    either = [r for r in BOOK.methods["slide_sheet"].requires if isinstance(r, AnyOf)]
    assert len(either) == 1


def test_the_plain_words_name_what_was_seen_and_what_it_takes() -> None:
    plan = planned(with_stages(weight_shift=Sides(left=ABLE, right=FAILED)), Move.BED_TO_CHAIR)
    chosen, not_yet = plan.why
    assert chosen.startswith("With a non-powered stand aid: ")
    assert "Pulls up with both arms." in chosen
    assert not_yet.startswith("Steadied with a transfer belt: not yet. ")
    assert "it takes: able on both sides" in not_yet


def test_the_plain_words_say_what_stands_against_any_move() -> None:
    low = replace(screen().readiness.vital_signs, spo2_percent=Decimal(85))
    content = replace(screen(), readiness=replace(screen().readiness, vital_signs=low))
    plan = planned(content, Move.BED_TO_CHAIR)
    assert plan.method == "do_not_move"
    assert plan.why[0].startswith("Do not move now: ")


def test_the_plain_words_say_what_is_waited_for() -> None:
    weak = with_stages(rise=Rise(outcome=Outcome.NOT_ACHIEVED), arm_pull=Sides(left=FAILED))
    content = without(weak, trained_helpers=1)
    plan = planned(content, Move.BED_TO_CHAIR)
    assert plan.method == "do_not_move"
    assert "Not enough trained helpers are there." in plan.why[0]
    assert plan.wait_for


def test_what_lacks_for_the_next_method_is_said() -> None:
    content = without(with_stages(rise=Rise(outcome=Outcome.NOT_ACHIEVED)), devices=[])
    plan = planned(content, Move.REPOSITION_IN_BED)
    assert plan.method == "do_not_move"
    assert any("No usable device is at hand" in each for each in plan.why)


def test_the_plain_words_are_easy_to_read() -> None:
    """Automated readability index (Senter and Smith 1967, recalled) at most 8, about age 13,
    over all reasons of a mixed plan; short sentences."""
    content = with_stages(weight_shift=Sides(left=ABLE, right=FAILED))
    profile = profile_of(BOOK, content, ())
    plan = build_plan(BOOK, content, profile, PlanIds("p", "s", 1))
    text = " ".join(why for each in plan.moves for why in each.why)
    words = re.findall(r"[A-Za-z0-9'-]+", text)
    sentences = [part for part in re.split(r"[.:;?]", text) if part.strip()]
    letters = sum(len(word) for word in words)
    index = 4.71 * letters / len(words) + 0.5 * len(words) / len(sentences) - 21.43
    assert index <= 8
