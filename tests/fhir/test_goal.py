"""Does each Goal say what to reach, and go on hold, end or be taken back with its plan?"""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from service.application.ports import Standing, Stood
from service.domain.record import PlanEventKind as Kind
from service.domain.stages import Attempt, Outcome, SittingBalance
from service.fhir.encode import bytes_of
from service.fhir.goal import goals_of
from service.fhir.kinds import GOAL_STAGE, GOAL_STANDING
from service.fhir.narrative import said
from service.fhir.standing_resources import Goal
from tests.fhir.answers import BOOK, FULL, HELPED, PATIENT_ID, SCREEN_ID, SITE
from tests.fhir.own_checks import resource_faults
from tests.fhir.standings import WITHHELD, standing, stood
from tests.fhir.validators import form_faults, official_faults, parse_faults, read, without_decimals

HELPED_NOW = stood(HELPED)


def goal(told: Standing, kind: str = GOAL_STAGE) -> Goal:
    return next(one for one in goals_of(SITE, told) if str(one.id).endswith(kind))


def all_reached() -> Stood:
    """The person reached everything that was aimed at before: no goal is left in the plan."""
    now = stood(FULL)
    unset = replace(now.plan, plan=replace(now.plan.plan, goals=()))
    return replace(now, plan=unset)


SITTING = stood(
    replace(
        HELPED,
        stages=replace(
            HELPED.stages,
            sitting_balance=SittingBalance(outcome=Outcome.NOT_ACHIEVED),
            forward_lean=Attempt(),
        ),
    ),
    number=1,
)


def test_a_plans_goals_are_active_and_not_reached_yet() -> None:
    told = goals_of(SITE, standing(HELPED_NOW))
    assert [one.id for one in told] == [
        f"{PATIENT_ID}-{GOAL_STAGE}",
        f"{PATIENT_ID}-{GOAL_STANDING}",
    ]
    for one, aim in zip(told, HELPED_NOW.plan.plan.goals, strict=True):
        assert (one.lifecycle_status, one.status_reason) == ("active", None)
        assert one.achievement_status is not None
        assert one.achievement_status.coding[0].code == "in-progress"
        assert one.description.text == aim.text
        assert one.description.coding[0].code == aim.goal
        assert one.text == said(f"Goal: {aim.text} Status: active. Not reached yet.")


def test_its_version_is_the_event_and_its_time_the_events() -> None:
    told = standing(HELPED_NOW, rev=12)
    made = goal(told)
    assert (made.meta.version_id, made.meta.last_updated) == ("12", told.at)
    assert made.meta.profile == (SITE.profile("goal"),)
    assert made.identifier[0].value == made.id
    assert made.start_date == HELPED.observed_at.date()


def test_a_stage_is_reached_by_an_outcome_and_a_time_by_seconds() -> None:
    stage = goal(standing(HELPED_NOW)).target[0]
    time = goal(standing(HELPED_NOW), GOAL_STANDING).target[0]
    assert stage.detail_codeable_concept is not None
    assert stage.detail_codeable_concept.coding[0].code == "achieved"
    assert stage.measure.coding[0].code == HELPED_NOW.plan.plan.goals[0].stage
    assert time.detail_quantity is not None
    assert (time.measure.coding[0].code, time.detail_quantity.code) == ("timed_stand", "s")


def test_how_far_it_came_is_told_by_the_observation_of_the_newest_screen() -> None:
    (seen,) = goal(standing(HELPED_NOW), GOAL_STANDING).outcome_reference
    assert seen.reference == f"Observation/{SCREEN_ID}-stage-timed-stand"


@pytest.mark.parametrize(
    ("now", "status"),
    [
        (stood(HELPED, Kind.LAPSED), "on-hold"),
        (stood(HELPED, Kind.WITHDRAWN, current=False), "entered-in-error"),
        (stood(HELPED, Kind.SUPERSEDED, current=False), "cancelled"),
    ],
)
def test_a_goal_follows_its_plan_and_says_why(now: Stood, status: str) -> None:
    made = goal(standing(now))
    assert made.lifecycle_status == status
    assert made.status_reason
    assert made.achievement_status is None
    assert made.outcome_reference == ()


def test_a_goal_that_the_next_screen_shows_reached_is_completed() -> None:
    made = goal(standing(all_reached(), SITTING))
    assert made.lifecycle_status == "on-hold"  # sat with help only
    able = replace(FULL.stages, sitting_balance=HELPED.stages.sitting_balance)
    now = stood(replace(FULL, stages=able))
    unset = replace(now, plan=replace(now.plan, plan=replace(now.plan.plan, goals=())))
    made = goal(standing(unset, SITTING))
    assert (made.lifecycle_status, made.description.coding[0].code) == (
        "completed",
        "sitting_balance",
    )
    assert made.achievement_status is not None
    assert made.achievement_status.coding[0].code == "achieved"


def test_while_nothing_may_be_moved_a_goal_is_on_hold() -> None:
    now = stood(WITHHELD)
    assert now.plan.plan.goals == ()
    made = goal(standing(now, SITTING))
    assert (made.lifecycle_status, made.achievement_status) == ("on-hold", None)


def test_a_goal_that_only_a_withdrawn_screen_set_was_an_error() -> None:
    wrong = stood(HELPED, Kind.WITHDRAWN, current=False, number=1)
    assert goal(standing(stood(WITHHELD), wrong)).lifecycle_status == "entered-in-error"


def test_an_earlier_goal_ends_when_no_plan_stands_any_more() -> None:
    gone = stood(WITHHELD, Kind.SUPERSEDED, current=False)
    assert goal(standing(gone, SITTING)).lifecycle_status == "cancelled"


def test_a_goal_of_an_older_rule_book_cannot_be_told_reached() -> None:
    aims = tuple(replace(aim, goal="of_another_book") for aim in SITTING.plan.plan.goals)
    older = replace(SITTING.plan, plan=replace(SITTING.plan.plan, goals=aims))
    made = goal(standing(all_reached(), replace(SITTING, plan=older)))
    assert made.lifecycle_status == "on-hold"
    assert "of_another_book" not in {rule.id for rule in BOOK.goals}


def test_a_goal_for_a_stage_the_rule_book_does_not_know_is_told_in_words() -> None:
    aims = tuple(replace(aim, stage="hop_on_one_leg") for aim in HELPED_NOW.plan.plan.goals[:1])
    now = replace(HELPED_NOW.plan, plan=replace(HELPED_NOW.plan.plan, goals=aims))
    made = goal(standing(replace(HELPED_NOW, plan=now)))
    assert made.target[0].measure.text == "Hop on one leg"


def test_whoever_never_had_a_goal_has_none() -> None:
    assert goals_of(SITE, standing(stood(WITHHELD))) == ()


def test_the_day_of_a_change_is_the_day_at_the_bedside() -> None:
    told = replace(standing(HELPED_NOW), at=HELPED.observed_at + timedelta(hours=15, minutes=50))
    assert goal(told).status_date == HELPED.observed_at.date() + timedelta(days=1)


@pytest.mark.parametrize(
    "told",
    [
        standing(HELPED_NOW),
        standing(stood(HELPED, Kind.LAPSED)),
        standing(stood(HELPED, Kind.LAPSED, early="A fall.")),
        standing(all_reached(), SITTING),
        standing(stood(HELPED, Kind.WITHDRAWN, current=False)),
    ],
    ids=["active", "lapsed", "ended", "set before", "withdrawn"],
)
def test_every_validator_takes_a_goal_in_every_state(told: Standing) -> None:
    for made in goals_of(SITE, told):
        raw = bytes_of(made)
        assert resource_faults(read(raw)) == []
        assert form_faults(raw) == []
        assert parse_faults(raw) == []
        assert official_faults(without_decimals(raw)) == []


@pytest.mark.parametrize(("early", "why"), [(None, "ran out"), ("A fall.", "ended early")])
def test_a_goal_on_hold_says_whether_the_plan_ran_out_or_was_ended(
    early: str | None, why: str
) -> None:
    made = goal(standing(stood(HELPED, Kind.LAPSED, early=early)))
    assert made.lifecycle_status == "on-hold"
    assert why in str(made.status_reason)
