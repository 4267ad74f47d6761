"""Is it told from when until when something held, by plans that count?"""

from collections.abc import Callable

from service.application.ports import Stood
from service.domain.plan import PlanState
from service.domain.record import PlanEventKind as Kind
from service.fhir.spell import spell_of, state_of, withdrawn
from tests.fhir.answers import BARE
from tests.fhir.standings import standing, stood

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
