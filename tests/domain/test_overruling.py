"""Does a plan say what clinicians chose, and keep what was computed beside it?"""

from msgspec.structs import replace

from service.domain.lifecycle import as_of
from service.domain.move import Move
from service.domain.overruling import as_computed, overruled, set_aside
from service.domain.plan import Interim, PlannedMove
from service.domain.record import Overruled, PlanEvent, PlanEventKind, SetAside
from service.domain.value import Clinician, Identifier
from tests.domain.plans import BEGINS, ENDS, PLAN, events

BY = Clinician(identifier=Identifier(system="urn:oid:2.999.9", value="S-31"), role="nurse")


def answer(move: Move, method: str) -> PlannedMove:
    title = method.replace("_", " ").capitalize()
    return PlannedMove(
        move, move.value, method, title, title, 1, (), (), None, (), (), (), (), (), (), None, ()
    )  # fmt: skip


WALK, CHAIR = answer(Move.WALK, "standby"), answer(Move.BED_TO_CHAIR, "stand_aid")
SLING = answer(Move.BED_TO_CHAIR, "sling_lift")
STILL = answer(Move.BED_TO_CHAIR, "do_not_move")
COMPUTED = replace(
    PLAN,
    moves=(WALK, CHAIR),
    while_lapsed=(Interim(Move.BED_TO_CHAIR, "sling_lift", "Sling lift", 2),),
)


def chose(version: int, chosen: PlannedMove, **more: object) -> PlanEvent:
    (event,) = events(PlanEventKind.OVERRULED)
    said = replace(Overruled(chosen, "Fainted.", BY, PLAN.rule_book), **more)
    return replace(event, version=version, overruled=said)


def test_what_was_chosen_stands_in_the_place_of_what_was_computed_and_keeps_it() -> None:
    event = chose(2, SLING, less_supported=True)
    plan = overruled(COMPUTED, [*events(PlanEventKind.CREATED), event])
    assert plan.moves[0] == WALK
    told = plan.moves[1].overrule
    assert told is not None
    assert replace(plan.moves[1], overrule=None) == SLING
    assert told.computed == CHAIR
    assert (told.reason, told.by, told.less_supported) == ("Fainted.", BY, True)
    assert (told.at, told.recorded_by, told.rule_book) == (event.at, "nurse", PLAN.rule_book)
    assert plan.while_lapsed == COMPUTED.while_lapsed


def test_the_last_choice_counts_and_going_back_leaves_what_was_computed() -> None:
    told = [*events(PlanEventKind.CREATED), chose(2, SLING), chose(3, STILL)]
    plan = overruled(COMPUTED, told)
    assert plan.moves[1].method == "do_not_move"
    assert plan.moves[1].overrule is not None
    assert plan.moves[1].overrule.computed == CHAIR
    assert overruled(COMPUTED, [*told, chose(4, CHAIR, back=True)]) is COMPUTED
    again = overruled(COMPUTED, [*told, chose(4, CHAIR, back=True), chose(5, SLING)])
    assert again.moves[1].method == "sling_lift"


def test_a_choice_that_supports_more_than_the_interim_holds_once_the_plan_lapsed_too() -> None:
    still = Interim(Move.BED_TO_CHAIR, "do_not_move", "Do not move", None)
    plan = overruled(COMPUTED, [chose(2, STILL, while_lapsed=still)])
    assert plan.while_lapsed == (still,)


def test_a_plan_that_follows_says_what_had_been_chosen() -> None:
    left = set_aside([*events(PlanEventKind.CREATED), chose(2, SLING), chose(3, WALK)])
    assert left == (
        SetAside("bed_to_chair", "Sling lift", "Fainted."),
        SetAside("walk", "Standby", "Fainted."),
    )
    assert set_aside([chose(2, SLING), chose(3, CHAIR, back=True)]) == ()
    (created,) = events(PlanEventKind.CREATED)
    plan = overruled(COMPUTED, [replace(created, set_aside=left)])
    assert [one.rule for one in plan.notices] == ["notice.set_aside"] * 2
    assert "bed_to_chair: for the plan that stood before" in plan.notices[0].text
    assert "Sling lift (Fainted.)" in plan.notices[0].text
    assert plan.moves == COMPUTED.moves


def test_where_the_same_screen_is_planned_anew_what_nobody_decided_is_left_once_more() -> None:
    (created,) = events(PlanEventKind.CREATED)
    walk, chair = [SetAside(one, "Sling lift", "Dizzy.") for one in ("walk", "bed_to_chair")]
    told = [replace(created, set_aside=(walk, chair)), chose(2, SLING)]
    again = SetAside("bed_to_chair", "Sling lift", "Fainted.")
    assert set_aside(told) == (again,)
    assert set_aside(told, anew=True) == (again, walk)
    back = [*told, chose(3, CHAIR, back=True)]
    assert set_aside(back, anew=True) == (walk,)


def test_only_what_the_rules_gave_is_as_computed() -> None:
    (created,) = events(PlanEventKind.CREATED)
    noticed = replace(created, set_aside=(SetAside("Walk", "Standby", "Fainted."),))
    assert as_computed(COMPUTED)
    assert not as_computed(overruled(COMPUTED, [chose(2, SLING)]))
    assert not as_computed(overruled(COMPUTED, [noticed]))


def test_an_overrule_is_a_version_of_the_same_plan_and_changes_no_state() -> None:
    told = (*events(PlanEventKind.CREATED), chose(2, SLING))
    for now, state in ((BEGINS, "current"), (ENDS, "lapsed")):
        plan = as_of(COMPUTED, told, is_current=True, now=now)
        assert (plan.state, plan.version) == (state, 2 + (state == "lapsed"))
        assert plan.moves[1].method == "sling_lift"
