"""Can any method that serves a move be chosen, with all that the rules hold against it?"""

import pytest
from msgspec.structs import replace

from service.domain.context import Context
from service.domain.move import Move
from service.domain.overruling import Decision
from service.domain.plan import Plan, RuleBookRef
from service.domain.reason import Status
from service.domain.record import Overruled
from service.domain.screen import Screen
from service.domain.stages import Sides
from service.domain.value import Clinician, Identifier
from service.rules.load import load_book
from service.rules.overrule import methods_for, overrule
from service.rules.plan import PlanIds, build_plan
from service.rules.profile import profile_of
from tests.rules.screens import FAILED, SCREEN, screen

BOOK = load_book()
BY = Clinician(identifier=Identifier(system="urn:oid:2.999.9", value="S-31"), role="nurse")
IDS = PlanIds("plan", "screen", 1)
EVERY = [(move, method) for move in BOOK.moves for method in methods_for(BOOK, move)]


def plan_of(content: Screen) -> Plan:
    return build_plan(BOOK, content, profile_of(BOOK, content, ()), IDS)


def chosen(
    method: str, move: Move = Move.BED_TO_CHAIR, content: Screen = SCREEN, plan: Plan | None = None
) -> Overruled:
    decision = Decision(move=move, method=method, reason="Fainted twice.", by=BY)
    profile = profile_of(BOOK, content, ())
    return overrule(BOOK, content, profile, plan or plan_of(content), decision)


def wanting(move: Move, **changes: object) -> Screen:
    return screen(context=Context(moves=[move]), **changes)


def computed(content: Screen, move: Move = Move.BED_TO_CHAIR) -> str:
    return next(one.method for one in plan_of(content).moves if one.move == move)


@pytest.mark.parametrize(("move", "method"), EVERY)
def test_every_method_that_serves_a_move_can_be_chosen_for_it(move: Move, method: str) -> None:
    content = wanting(move)
    said = chosen(method, move, content)
    assert (said.answer.move, said.answer.method) == (move, method)
    assert said.back == (method == computed(content, move))
    place = methods_for(BOOK, move).index
    if not said.back:
        assert said.less_supported == (place(method) < place(computed(content, move)))
        assert (said.answer.helpers is None) == (method == "do_not_move")
        assert said.answer.plain.count("Chosen by a clinician") == 1
        assert ("LESS support" in said.answer.plain) == said.less_supported
        assert said.answer.why[0].endswith("Fainted twice.")
        assert (said.answer.overrule, said.answer.would_open, said.answer.ask_next) == (None,) * 3
        assert not said.answer.wait_for


@pytest.mark.parametrize(("move", "method"), EVERY)
def test_what_the_rules_hold_against_a_choice_is_what_had_ruled_it_out(
    move: Move, method: str
) -> None:
    stages = replace(SCREEN.stages, weight_shift=Sides(left=FAILED, right=FAILED))
    content = screen(stages=stages, context=Context(moves=[move], devices=[]))
    plan = plan_of(content)
    ruled_out = {one.method: one.reasons for one in plan.moves[0].ruled_out}
    said = chosen(method, move, content)
    if said.back:
        return
    assert said.against == ruled_out.get(method, ())
    assert (len(said.answer.why) == 2) == bool(said.against)
    assert method not in {one.method for one in said.answer.ruled_out}
    if method != "do_not_move":
        assert {one.status for one in said.answer.because} <= {Status.MET}


def test_what_a_device_that_is_not_there_stands_against_is_said_plainly() -> None:
    content = replace(SCREEN, context=Context(moves=[Move.BED_TO_CHAIR], devices=[]))
    said = chosen("sling_lift", content=content)
    assert [one.status for one in said.against] == [Status.MISSING]
    assert "No usable device is at hand" in said.answer.why[1]


def test_the_computed_method_takes_the_choice_back() -> None:
    said = chosen(computed(SCREEN))
    assert said.back
    assert said.answer == next(
        one for one in plan_of(SCREEN).moves if one.move == Move.BED_TO_CHAIR
    )
    assert (said.against, said.while_lapsed, said.less_supported) == ((), None, False)


def test_a_choice_that_supports_more_than_the_interim_takes_its_place() -> None:
    interim = {one.move: one.method for one in plan_of(SCREEN).while_lapsed}
    assert interim[Move.BED_TO_CHAIR] == "sling_lift"
    assert chosen("stand_aid").while_lapsed is None
    assert chosen("sling_lift").while_lapsed is None
    still = chosen("do_not_move").while_lapsed
    assert still is not None
    assert (still.move, still.method, still.helpers) == (Move.BED_TO_CHAIR, "do_not_move", None)


def test_a_plan_without_an_interim_for_the_move_is_given_none() -> None:
    assert (
        chosen("do_not_move", plan=replace(plan_of(SCREEN), while_lapsed=())).while_lapsed is None
    )


def test_a_computed_method_that_this_book_does_not_know_counts_as_full_support() -> None:
    plan = plan_of(SCREEN)
    unknown = replace(
        plan,
        moves=tuple(replace(one, method="carried_by_angels") for one in plan.moves),
        rule_book=RuleBookRef("0.9.0", "0" * 64),
    )
    said = chosen("sling_lift", plan=unknown)
    assert said.less_supported
    assert said.rule_book == BOOK.ref
    assert not chosen("do_not_move", plan=unknown).less_supported
