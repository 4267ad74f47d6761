"""Is it told from when until when something held, by plans that count?"""

from collections.abc import Callable
from datetime import timedelta

from msgspec.structs import replace

from service.application.ports import Stood
from service.domain.move import Move
from service.domain.plan import PlanState
from service.domain.record import PlanEventKind as Kind
from service.fhir.spell import spell_of, state_of, withdrawn
from tests.fhir.answers import BARE, HELPED
from tests.fhir.overruled import AT, decided
from tests.fhir.standings import answer_of, standing, stood

NEW, MIDDLE, OLD = (stood(BARE, number=number) for number in range(3))
WRONG = stood(BARE, Kind.WITHDRAWN, current=False, number=1)


def within(*these: Stood) -> Callable[[Stood], bool]:
    ids = {one.plan.plan.id for one in these}
    return lambda one: one.plan.plan.id in ids


def begins(one: Stood) -> object:
    return one.plan.plan.valid_from


def test_what_never_held_has_no_spell() -> None:
    assert spell_of(standing(NEW, MIDDLE, OLD), within()) is None


def test_what_holds_began_with_its_newest_plan_and_has_no_end() -> None:
    spell = spell_of(standing(NEW, MIDDLE, OLD), within(NEW, MIDDLE))
    assert spell is not None
    assert (spell.now, spell.sound, spell.since, spell.until) == (True, True, begins(NEW), None)


def test_it_is_the_same_however_far_back_one_looks() -> None:
    has = within(MIDDLE, OLD)
    assert spell_of(standing(NEW, MIDDLE), has) == spell_of(standing(NEW, MIDDLE, OLD), has)


def test_what_no_longer_holds_ended_with_the_plan_after_it() -> None:
    spell = spell_of(standing(NEW, MIDDLE, OLD), within(OLD))
    assert spell is not None
    assert spell.stood is OLD
    assert (spell.now, spell.since, spell.until) == (False, begins(OLD), begins(MIDDLE))


def test_what_the_newest_plan_to_tell_it_had_in_error_was_an_error() -> None:
    spell = spell_of(standing(NEW, WRONG, OLD), within(WRONG, OLD))
    assert spell is not None
    assert (spell.stood, spell.sound) == (WRONG, False)


def test_when_no_plan_stands_any_more_it_ended_then() -> None:
    gone = stood(BARE, Kind.SUPERSEDED, current=False)
    told = standing(gone, into="another")
    spell = spell_of(told, within(gone))
    assert spell is not None
    assert (spell.now, spell.until) == (True, told.at)


def test_the_state_is_that_of_the_moment_of_the_event() -> None:
    assert state_of(standing(NEW)) == PlanState.CURRENT
    assert state_of(standing(stood(BARE, Kind.LAPSED))) == PlanState.LAPSED
    assert state_of(standing(WRONG)) == PlanState.WITHDRAWN
    assert withdrawn(WRONG)
    assert not withdrawn(NEW)


def chosen(one: Stood, *methods: str) -> Stood:
    """``one`` with one method after the other chosen for getting from bed to chair, a minute
    apart from ``AT`` on."""
    told = [
        decided(answer_of(one), Move.BED_TO_CHAIR, method, number)
        for number, method in enumerate(methods, 2)
    ]
    return replace(one, plan=replace(one.plan, events=(*one.plan.events, *told)))


def method(one: Stood) -> str:
    return next(move.method for move in one.plan.plan.moves if move.move == Move.BED_TO_CHAIR)


AIDED = stood(HELPED)
MINUTE = timedelta(minutes=1)


def test_what_a_clinician_chose_holds_from_then_on() -> None:
    spell = spell_of(standing(chosen(AIDED, "sling_lift")), lambda one: method(one) == "sling_lift")
    assert spell is not None
    assert (spell.now, spell.sound, spell.since, spell.until) == (True, True, AT, None)
    assert method(spell.stood) == "sling_lift"


def test_what_a_clinician_chose_otherwise_ended_then() -> None:
    now = standing(chosen(AIDED, "sling_lift"), MIDDLE)
    spell = spell_of(now, lambda one: method(one) == "stand_aid")
    assert spell is not None
    assert (spell.now, spell.since, spell.until) == (False, begins(AIDED), AT)
    assert method(spell.stood) == "stand_aid"


def test_what_a_choice_does_not_touch_goes_on_through_it() -> None:
    now = chosen(AIDED, "sling_lift", "unaided")
    spell = spell_of(standing(now), lambda one: one.plan.plan.id == AIDED.plan.plan.id)
    assert spell is not None
    assert (spell.now, spell.since, spell.until) == (True, begins(AIDED), None)


def test_what_came_back_began_with_the_last_choice() -> None:
    now = standing(chosen(AIDED, "sling_lift", "unaided", "sling_lift", "stand_aid"))
    lifted = spell_of(now, lambda one: method(one) == "sling_lift")
    aided = spell_of(now, lambda one: method(one) == "stand_aid")
    assert lifted is not None
    assert aided is not None
    assert (lifted.since, lifted.until) == (AT + 2 * MINUTE, AT + 3 * MINUTE)
    assert (aided.now, aided.since, aided.until) == (True, AT + 3 * MINUTE, None)


def test_what_was_chosen_for_an_earlier_plan_ended_with_the_plan_after_it() -> None:
    before = chosen(stood(HELPED, number=5), "sling_lift")
    spell = spell_of(standing(AIDED, before), lambda one: method(one) == "sling_lift")
    assert spell is not None
    assert (spell.now, spell.since, spell.until) == (False, AT, begins(AIDED))


def test_a_choice_for_a_plan_of_a_screen_in_error_was_an_error() -> None:
    wrong = stood(HELPED, current=False, number=5)
    chose = chosen(wrong, "sling_lift")
    events = (*chose.plan.events, *stood(HELPED, Kind.WITHDRAWN).plan.events[1:])
    wrong = replace(chose, plan=replace(chose.plan, events=events))
    spell = spell_of(standing(AIDED, wrong), lambda one: method(one) == "sling_lift")
    assert spell is not None
    assert not spell.sound
