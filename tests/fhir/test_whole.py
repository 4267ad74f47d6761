"""Whose are the resources that tell of a patient as a whole, and from which event?"""

from msgspec.structs import replace

from service.application.ports import KeptPlan, Stood
from service.domain.plan import PlanState
from service.domain.record import PatientRecord, PlanEventKind
from service.fhir.whole import day_of, first_standing, whole_of
from tests.fhir.answers import (
    BARE,
    FULL,
    PATIENT_ID,
    SCREEN_ID,
    SITE,
    answer_to,
    in_state,
    previewed,
)
from tests.fhir.standings import standing, stood


def test_they_are_the_patients_who_stays_though_the_screen_was_of_another_record() -> None:
    told = replace(standing(stood(FULL)), patient=PatientRecord("stays", "plan"))
    whole = whole_of(SITE, told)
    assert whole.id_of("goal-stage") == "stays-goal-stage"
    assert whole.subject.reference == "Patient/stays"
    assert whole.subject.identifier is not None
    assert whole.subject.identifier.value == FULL.patient.identifier.value


def test_an_identifier_belongs_to_the_kind_of_resource() -> None:
    whole = whole_of(SITE, standing(stood(FULL)))
    (known,) = whole.identifier("flag-falls")
    assert known.system == SITE.identifier_system("flag")
    assert known.value == f"{PATIENT_ID}-flag-falls"


def test_the_stay_is_told_where_it_is_known() -> None:
    assert whole_of(SITE, standing(stood(FULL))).encounter is not None
    assert whole_of(SITE, standing(stood(BARE))).encounter is None


def test_of_a_previewed_screen_nothing_is_known_but_the_answer() -> None:
    answer = previewed(answer_to(BARE))
    whole = whole_of(SITE, first_standing(answer))
    assert whole.patient == f"{SCREEN_ID}-patient"
    assert whole.meta("task").version_id == "1"
    assert whole.meta("task").last_updated == answer.screen.recorded_at
    assert whole.state == PlanState.CURRENT


def test_an_answer_whose_plan_gave_way_stands_no_more() -> None:
    told = first_standing(in_state(answer_to(BARE), PlanState.SUPERSEDED))
    assert not told.plan.is_current
    assert told.patient.current_plan is None


def test_the_day_of_a_screen_is_the_day_at_the_bedside() -> None:
    assert day_of(answer_to(FULL).screen) == FULL.observed_at.date()


def test_what_ended_a_plan_before_its_time_is_known_from_a_plan_that_ran_out() -> None:
    early = stood(BARE, PlanEventKind.LAPSED, early="A fall.")
    assert whole_of(SITE, standing(early)).ended == early.plan.events[-1]
    assert whole_of(SITE, standing(stood(BARE, PlanEventKind.LAPSED))).ended is None
    assert whole_of(SITE, standing(stood(BARE))).ended is None
    withdrawn = stood(BARE, PlanEventKind.LAPSED, PlanEventKind.WITHDRAWN, early="A fall.")
    assert whole_of(SITE, standing(replace(withdrawn, plan=gone(withdrawn)))).ended is None


def gone(told: Stood) -> KeptPlan:
    return replace(told.plan, is_current=False)
