"""Does the CarePlan say in which state the plan is, since when, and all it says as a whole?"""

from datetime import datetime, timedelta

import pytest
from msgspec.structs import replace

from service.domain.citation import Standing
from service.domain.plan import Exercise, PlanState, RuleBookRef
from service.domain.record import PlanEvent, PlanEventKind
from service.fhir.care_plan import care_plan_of, version_of
from service.fhir.resources import CarePlan
from tests.fhir.answers import (
    BARE,
    EARLIER_PLAN,
    FULL,
    HELPED,
    PATIENT_ID,
    PLAN_ID,
    RECORDED_AT,
    SCREEN_ID,
    SITE,
    answer_to,
    corrected,
    previewed,
)

ANSWER = answer_to(FULL)
CREATED = PlanEvent(PLAN_ID, 1, PlanEventKind.CREATED, RECORDED_AT, "ward key")


def care_plan(state: PlanState = PlanState.CURRENT, *events: PlanEvent) -> CarePlan:
    plan = replace(ANSWER.plan, state=state, version=len(events) or 1)
    return care_plan_of(SITE, plan, ANSWER.screen, events)


def lapsed_at(moment: datetime) -> PlanEvent:
    return PlanEvent(PLAN_ID, 2, PlanEventKind.LAPSED, moment, "ward key", reason="A fall.")


@pytest.mark.parametrize(
    ("state", "status"),
    [
        (PlanState.CURRENT, "active"),
        (PlanState.SUPERSEDED, "revoked"),
        (PlanState.LAPSED, "completed"),
        (PlanState.WITHDRAWN, "entered-in-error"),
    ],
)
def test_the_status_follows_the_state(state: PlanState, status: str) -> None:
    assert care_plan(state).status == status


def test_what_came_while_a_version_was_read_is_told_by_the_next_one() -> None:
    came = lapsed_at(RECORDED_AT + timedelta(minutes=9))
    plan = replace(ANSWER.plan, version=1)
    assert care_plan_of(SITE, plan, ANSWER.screen, (CREATED, came)) == care_plan(
        PlanState.CURRENT, CREATED
    )


def test_a_plan_whose_time_ran_out_is_completed_then() -> None:
    end = ANSWER.plan.valid_until
    assert care_plan(PlanState.LAPSED).meta.last_updated == end
    noted = care_plan(PlanState.LAPSED, CREATED, lapsed_at(end + timedelta(hours=1)))
    assert noted.status == "completed"
    assert noted.meta.last_updated == end + timedelta(hours=1)


def test_a_plan_that_something_ended_early_is_revoked_and_says_why() -> None:
    early = ANSWER.plan.valid_until - timedelta(hours=1)
    ended = care_plan(PlanState.LAPSED, CREATED, lapsed_at(early))
    assert ended.status == "revoked"
    assert ended.meta.last_updated == early
    assert ended.meta.version_id == "2"
    assert "ended early" in ended.description
    assert "Ended: A fall." in [note.text for note in ended.note]


def test_a_plan_that_has_not_run_out_was_last_changed_when_it_was_made() -> None:
    assert care_plan().meta.last_updated == RECORDED_AT
    assert care_plan(PlanState.CURRENT, CREATED).meta.last_updated == RECORDED_AT


def test_a_current_plan_gives_no_reason_for_an_end() -> None:
    restored = PlanEvent(PLAN_ID, 3, PlanEventKind.RESTORED, RECORDED_AT, "k", reason="Withdrawn.")
    notes = [note.text for note in care_plan(PlanState.CURRENT, CREATED, restored).note]
    assert not [note for note in notes if note.startswith("Ended")]


def test_a_plan_was_made_when_it_was_made_whatever_happened_to_its_screen_later() -> None:
    later = replace(ANSWER.screen, version=2, recorded_at=RECORDED_AT + timedelta(days=1))
    plan = replace(ANSWER.plan, state=PlanState.WITHDRAWN, version=2)
    withdrawn = PlanEvent(PLAN_ID, 2, PlanEventKind.WITHDRAWN, later.recorded_at, "ward key")

    assert care_plan_of(SITE, plan, later, (CREATED, withdrawn)).created == RECORDED_AT
    assert care_plan_of(SITE, plan, later).created == later.recorded_at


def test_a_previewed_plan_is_shown_as_its_first_version() -> None:
    assert version_of(previewed(ANSWER).plan) == "1"


def test_the_period_is_the_validity_and_the_state_is_said_first() -> None:
    made = care_plan()
    plan = ANSWER.plan
    assert (made.period.start, made.period.end) == (plan.valid_from, plan.valid_until)
    assert made.description.startswith("Valid from 4 March 2026, 08:15 (UTC+1) until ")
    assert "do not use" in care_plan(PlanState.WITHDRAWN).description
    assert "replaced" in care_plan(PlanState.SUPERSEDED).description
    assert "ran out" in care_plan(PlanState.LAPSED).description


def test_the_description_names_every_move_with_its_method_and_helpers() -> None:
    told = care_plan().description
    for move in ANSWER.plan.moves:
        assert f"{move.move_title}: {move.method_title}, " in told


def test_it_rests_on_the_response_and_the_panel() -> None:
    assert [one.reference for one in care_plan().supporting_info] == [
        f"QuestionnaireResponse/{SCREEN_ID}",
        f"Observation/{SCREEN_ID}-panel",
    ]


def test_it_replaces_the_plan_of_an_earlier_screen_and_nothing_else() -> None:
    answer = corrected(ANSWER)
    (replaced,) = care_plan_of(SITE, answer.plan, answer.screen).replaces
    assert replaced.reference == f"CarePlan/{EARLIER_PLAN}"
    assert care_plan().replaces == ()


def test_it_is_a_plan_made_by_the_software_with_the_assessor() -> None:
    made = care_plan()
    assert made.intent == "plan"
    assert made.author is not None
    assert made.author.type == "Device"
    assert [one.type for one in made.contributor] == ["Practitioner"]
    assert [one.coding[0].code for one in made.category] == ["assess-plan", "safe_patient_handling"]
    bare = answer_to(BARE)
    assert care_plan_of(SITE, bare.plan, bare.screen).contributor == ()


def test_every_move_is_an_activity_in_the_plans_order() -> None:
    made = care_plan()
    codes = [one.detail.code.coding[0].code for one in made.activity]
    assert codes == [move.method for move in ANSWER.plan.moves]


def test_notices_conditions_triggers_goals_and_what_to_do_when_lapsed_are_notes() -> None:
    plan = ANSWER.plan
    notes = " ".join(note.text for note in care_plan().note)
    assert all(said.text in notes for said in plan.notices + plan.conditions + plan.rescreen_when)
    assert all(goal.text in notes for goal in plan.goals)
    for interim in plan.while_lapsed:
        assert interim.method_title in notes


def test_every_note_is_in_the_narrative_too() -> None:
    made = care_plan()
    assert made.text is not None
    assert made.text.div.count("<h3>") == len(ANSWER.plan.moves)
    assert all(notice.text in made.text.div for notice in ANSWER.plan.notices)


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [
        (None, None, "Exercise: Rise."),
        (42, 48, "Exercise: Rise. Seat height: 42 to 48 cm."),
    ],
)
def test_the_exercise_names_a_seat_height_only_where_it_is_known(
    low: int | None, high: int | None, told: str
) -> None:
    exercise = Exercise(
        "Rise.",
        hands=True,
        source="s",
        standing=Standing.PRACTICE,
        seat_height_cm_low=low,
        seat_height_cm_high=high,
    )
    made = care_plan_of(SITE, replace(ANSWER.plan, exercise=exercise), ANSWER.screen)
    assert told in [note.text for note in made.note]


def test_a_plan_without_an_exercise_has_no_note_of_one() -> None:
    made = care_plan_of(SITE, replace(ANSWER.plan, exercise=None), ANSWER.screen)
    assert not [note for note in made.note if note.text.startswith("Exercise")]


def test_the_goals_are_named_while_the_plan_is_the_one_that_stands() -> None:
    plan = answer_to(HELPED).plan
    record = answer_to(HELPED).screen
    named = {
        state: [
            one.reference for one in care_plan_of(SITE, replace(plan, state=state), record).goal
        ]
        for state in PlanState
    }
    goals = [f"Goal/{PATIENT_ID}-goal-stage", f"Goal/{PATIENT_ID}-goal-standing"]
    assert named[PlanState.CURRENT] == named[PlanState.LAPSED] == goals
    assert named[PlanState.SUPERSEDED] == named[PlanState.WITHDRAWN] == []


def test_goals_are_those_of_the_patient_who_is_one_with_this_one_by_now() -> None:
    joined = PlanEvent(PLAN_ID, 2, PlanEventKind.RESTORED, RECORDED_AT, "ward key", patient="stays")
    plan, record = answer_to(HELPED).plan, answer_to(HELPED).screen
    before, after = (
        care_plan_of(SITE, replace(plan, version=len(events)), record, events).goal[0].reference
        for events in ((CREATED,), (CREATED, joined))
    )
    assert before == f"Goal/{PATIENT_ID}-goal-stage"
    assert after == "Goal/stays-goal-stage"


def test_a_plan_keeps_the_definitions_and_the_software_of_its_rule_book() -> None:
    older = replace(ANSWER.plan, rule_book=RuleBookRef("0.9.0", "ab" * 32))
    made = care_plan_of(SITE, older, ANSWER.screen)
    assert made.instantiates_canonical[0].endswith("|0.9.0")
    assert made.author is not None
    assert made.author.identifier is not None
    assert made.author.identifier.value == "ab" * 32


def test_only_what_ended_a_plan_is_told_as_its_end() -> None:
    kinds = (PlanEventKind.CREATED, PlanEventKind.RESTORED, PlanEventKind.SUPERSEDED)
    events = tuple(
        PlanEvent(PLAN_ID, version, kind, RECORDED_AT, "ward key", None, f"Because of {kind}.")
        for version, kind in enumerate(kinds, 1)
    )
    plan = replace(ANSWER.plan, state=PlanState.SUPERSEDED, version=3)
    notes = [one.text for one in care_plan_of(SITE, plan, ANSWER.screen, events).note]
    assert [one for one in notes if one.startswith("Ended")] == ["Ended: Because of superseded."]
