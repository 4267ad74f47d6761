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


def test_what_holds_began_with_the_first_plan_of_its_row_and_has_no_end() -> None:
    spell = spell_of(standing(NEW, MIDDLE, OLD), within(NEW, MIDDLE))
    assert spell is not None
    assert (spell.now, spell.sound, spell.since, spell.until) == (True, True, begins(MIDDLE), None)


def test_what_no_longer_holds_ended_with_the_plan_after_it() -> None:
    spell = spell_of(standing(NEW, MIDDLE, OLD), within(OLD))
    assert spell is not None
    assert spell.stood is OLD
    assert (spell.now, spell.since, spell.until) == (False, begins(OLD), begins(MIDDLE))


def test_a_gap_begins_a_new_spell_and_a_withdrawn_plan_is_no_gap() -> None:
    gap = spell_of(standing(NEW, MIDDLE, OLD), within(NEW, OLD))
    bridged = spell_of(standing(NEW, WRONG, OLD), within(NEW, OLD))
    trailing = spell_of(standing(NEW, WRONG), within(NEW))
    assert gap is not None
    assert bridged is not None
    assert trailing is not None
    assert (gap.since, bridged.since, trailing.since) == (begins(NEW), begins(OLD), begins(NEW))


def test_a_plan_entered_in_error_counts_only_where_no_other_tells_it() -> None:
    only = spell_of(standing(NEW, WRONG, OLD), within(WRONG))
    other = spell_of(standing(NEW, WRONG, OLD), within(WRONG, OLD))
    assert only is not None
    assert other is not None
    assert (only.stood, only.sound) == (WRONG, False)
    assert (other.stood, other.sound) == (OLD, True)


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
