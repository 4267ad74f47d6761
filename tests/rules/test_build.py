"""Does a declared method or move become what was declared, no more and no less?"""

from typing import Any

import msgspec
import pytest

from service.domain.citation import Citation, Standing
from service.domain.condition import Condition
from service.domain.move import Move
from service.domain.plan import Brakes
from service.domain.requirement import Absent
from service.rules import build
from service.rules.book import Method, MoveRules
from service.rules.compile import Compiler, RuleFault
from service.rules.files import MethodFile, MoveFile, Parameter
from service.rules.plan_files import ExerciseTable, GoalTable

CITED = {"source": "somewhere", "standing": "practice"}
CITATION = Citation("somewhere", Standing.PRACTICE)
REASON = {"why": "Because", **CITED}
NO_STOMA = {"absent": "stoma"}


def parameter(value: str) -> Parameter:
    return msgspec.convert({"value": value, "unit": "1", "what": "A value", **CITED}, Parameter)


PARAMETERS = {"thirty": parameter("30"), "low": parameter("100"), "high": parameter("120")}


def method(name: str = "push", **parts: Any) -> Method:
    declared = {
        "title": "Push",
        "plain": "Pushes.",
        "support": 10,
        "needs_standing": True,
        "helpers": {"count": 1, **REASON},
        **CITED,
    }
    file = msgspec.convert(declared | parts, MethodFile)
    return build.method(name, file, PARAMETERS)


LAST = method("do_not_move", support=100, needs_standing=False, helpers=REASON)


def move(there: list[Method], **parts: Any) -> MoveRules:
    serving = {each.id: each for each in (*there, LAST)}
    declared = {
        "title": "Walk",
        "plain": "walking",
        "methods": [each.id for each in there],
        **CITED,
    }
    file = msgspec.convert(declared | parts, MoveFile)
    return build.move(Move.WALK, file, serving, PARAMETERS)


def absent(owner: str, why: str) -> Absent:
    return Absent(f"{owner}.no_stoma", Condition.STOMA, why, CITATION)


def test_a_method_keeps_its_helpers_with_their_reason() -> None:
    made = method()
    assert (made.helpers, made.helpers_why, made.helpers_citation) == (1, "Because", CITATION)
    assert made.assisted
    assert LAST.helpers is None


def test_every_table_of_a_method_becomes_its_rule() -> None:
    made = method(
        requires=[{**NO_STOMA, **REASON}],
        accessories=[
            {"accessory": "strap", **REASON, "unless": NO_STOMA, "moves": ["walk"]},
            {"accessory": "cover", **REASON},
        ],
        steps=[{"text": "Lock the brakes.", "brakes": "locked", "unless": NO_STOMA}],
        cautions=[{"id": "slow", "text": "Go slowly.", **CITED, "moves": ["walk"]}],
        stop_signs=[{"id": "pain", "text": "It hurts.", **CITED}],
    )
    assert made.requires == (absent("push", "Because"),)
    strap, cover = made.accessories
    assert (strap.rule, strap.unless, strap.moves) == (
        "push.strap.no_stoma",
        absent("push", "Because"),
        frozenset({Move.WALK}),
    )
    assert (cover.rule, cover.unless, cover.moves) == ("push.cover", None, frozenset())
    (step,) = made.steps
    assert (step.text, step.brakes) == ("Lock the brakes.", Brakes.LOCKED)
    assert step.citation == Citation("common_practice", Standing.PRACTICE)
    assert step.unless == Absent("push.no_stoma", Condition.STOMA, step.text, step.citation)
    assert [(said.rule, said.moves) for said in made.cautions] == [
        ("push.slow", frozenset({Move.WALK}))
    ]
    assert [said.rule for said in made.stop_signs] == ["push.stop.pain"]


def test_more_helpers_are_at_least_so_many_or_so_many_more() -> None:
    always, unless = method(
        more_helpers=[{"at_least": 2, **REASON}, {"add": 1, "unless": NO_STOMA, **REASON}]
    ).more_helpers
    assert (always.rule, always.unless, always.at_least, always.add) == (
        "push.helpers",
        None,
        2,
        0,
    )
    assert (unless.rule, unless.at_least, unless.add) == ("push.no_stoma.helpers", 0, 1)


def test_the_options_of_a_move_stand_in_the_order_of_support() -> None:
    lift, push, slide = method("lift", support=90), method("push"), method("slide", support=90)
    made = move([lift, slide, push])
    assert [each.method.id for each in made.options] == ["push", "lift", "slide", "do_not_move"]


def test_the_rules_of_a_move_stand_for_the_methods_they_name() -> None:
    push, lift = method("push", requires=[{**NO_STOMA, **REASON}]), method("lift", support=90)
    made = move(
        [push, lift],
        requires=[
            {"absent": "spasms", **REASON},
            {"absent": "contracture", **REASON, "methods": ["lift"]},
        ],
        more_helpers=[{"at_least": 3, **REASON, "methods": ["lift"]}],
    )
    first, second, last = made.options
    assert [each.rule for each in first.requires] == ["walk.no_spasms", "push.no_stoma"]
    assert [each.rule for each in second.requires] == ["walk.no_spasms", "walk.no_contracture"]
    assert [each.at_least for each in second.more_helpers] == [3]
    assert first.more_helpers == ()
    assert (last.requires, last.more_helpers) == ((), ())


def test_the_rules_of_a_move_may_name_every_method_that_serves_it() -> None:
    names = ["push", "lift"]
    made = move(
        [method("push"), method("lift", support=90)],
        requires=[{**NO_STOMA, **REASON, "methods": names}],
    )
    rules = [[each.rule for each in option.requires] for option in made.options]
    assert rules == [["walk.no_stoma"], ["walk.no_stoma"], []]


def test_a_method_without_helpers_is_asked_for_none_by_the_move() -> None:
    alone = method("alone", helpers={"count": 0, **REASON})
    made = move([alone], more_helpers=[{"at_least": 2, **REASON}])
    assert made.options[0].more_helpers == ()


@pytest.mark.parametrize(
    ("parts", "fault"),
    [
        ({"methods": ["carry"]}, "no method to choose is called `carry`"),
        ({"methods": ["do_not_move"]}, "no method to choose is called `do_not_move`"),
        (
            {"requires": [{**NO_STOMA, **REASON, "methods": ["carry"]}]},
            "no method to choose is called `carry`",
        ),
        (
            {"methods": [], "more_helpers": [{"add": 1, **REASON, "methods": ["push"]}]},
            "a method that does not serve the move",
        ),
        ({"more_helpers": [REASON]}, "exactly one of: at_least, add"),
        ({"more_helpers": [{"add": 1, "at_least": 2, **REASON}]}, "exactly one of"),
    ],
)
def test_a_move_that_names_what_is_not_there_is_refused(parts: dict[str, Any], fault: str) -> None:
    with pytest.raises(RuleFault, match=fault):
        move([method()], **parts)


def test_two_sentences_with_one_id_are_refused() -> None:
    twice = {"id": "slow", "text": "Go slowly.", **CITED}
    with pytest.raises(RuleFault, match="two sentences have one id"):
        method(cautions=[twice, twice])
    assert build.said(Compiler("plan", {}), "plan", ()) == ()


def test_a_goal_has_its_target_in_whole_seconds() -> None:
    table = {"id": "stand", "text": "Stand longer.", **CITED, "unless": NO_STOMA}
    timed = build.goal(msgspec.convert(table | {"target": "thirty"}, GoalTable), PARAMETERS)
    assert (timed.target_seconds, timed.stage, timed.only_if) == (30, None, ())
    assert timed.unless == absent("goal.stand", "Stand longer.")
    staged = msgspec.convert(table | {"stage": "rise", "only_if": [NO_STOMA]}, GoalTable)
    made = build.goal(staged, PARAMETERS)
    assert (made.target_seconds, made.stage) == (None, "rise")
    assert made.only_if == (absent("goal.stand", "Stand longer."),)


def test_an_exercise_has_its_seat_heights_in_whole_percent() -> None:
    table = {"id": "rising", "text": "Rise.", **CITED, "when": NO_STOMA, "hands": True}
    heights = {"seat_percent_low": "low", "seat_percent_high": "high"}
    made = build.exercise(msgspec.convert(table | heights, ExerciseTable), PARAMETERS)
    assert (made.seat_percent_low, made.seat_percent_high, made.hands) == (100, 120, True)
    bare = build.exercise(msgspec.convert(table, ExerciseTable), PARAMETERS)
    assert (bare.seat_percent_low, bare.seat_percent_high) == (None, None)
