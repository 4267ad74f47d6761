"""Is the due screen asked for until it is made, and called off with its plan?"""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from service.application.ports import Standing, Stood
from service.domain.record import PlanEventKind as Kind
from service.fhir.encode import bytes_of
from service.fhir.standing_resources import Task
from service.fhir.task import tasks_of
from tests.fhir.answers import BARE, FULL, PATIENT_ID, SITE
from tests.fhir.own_checks import resource_faults
from tests.fhir.standings import standing, stood
from tests.fhir.validators import form_faults, official_faults, parse_faults, read, without_decimals

NEXT_SCREEN = "01957a3c-7777-7c41-9a6b-0c1d2e3f4a5b"


def task(told: Standing) -> Task:
    (made,) = tasks_of(SITE, told)
    return made


def test_the_next_screen_is_asked_for_within_the_time_of_the_plan() -> None:
    told = standing(stood(FULL))
    made = task(told)
    plan = told.plan.plan
    assert made.id == f"{PATIENT_ID}-task-rescreen"
    assert (made.status, made.intent, made.priority) == ("requested", "plan", "routine")
    assert made.focus.reference == f"CarePlan/{plan.id}"
    assert made.for_.reference == f"Patient/{PATIENT_ID}"
    period = made.restriction.period
    assert (period.start, period.end) == (plan.valid_from, plan.rescreen_due)
    assert [one.code for one in made.code.coding] == ["rescreen", "430481008"]
    assert made.output == ()


def test_it_is_written_under_the_name_of_the_standard() -> None:
    written = read(bytes_of(task(standing(stood(FULL)))))
    assert written["for"]["type"] == "Patient"
    assert "for_" not in written


def test_what_asks_for_a_screen_at_once_is_its_reason() -> None:
    told = standing(stood(FULL))
    reason = task(told).reason_code
    assert reason is not None
    assert all(one.text in str(reason.text) for one in told.plan.plan.rescreen_when)


def test_its_version_is_the_event_and_its_change_the_events_time() -> None:
    told = standing(stood(FULL), rev=4)
    made = task(told)
    assert (made.meta.version_id, made.meta.last_updated) == ("4", told.at)
    assert made.last_modified >= made.authored_on
    assert made.meta.profile == (SITE.profile("task"),)


def test_when_the_plan_ran_out_the_screen_is_urgent_and_still_asked_for() -> None:
    made = task(standing(stood(FULL, Kind.LAPSED)))
    assert (made.status, made.priority) == ("requested", "urgent")
    assert made.status_reason is not None
    assert "ran out" in str(made.status_reason.text)


def test_when_something_ended_the_plan_early_the_screen_is_due_from_then_on() -> None:
    now = stood(FULL, Kind.LAPSED, early="A fall or a near fall. In the bathroom.")
    made = task(standing(now))
    ended = now.plan.events[-1].at
    assert (made.status, made.priority) == ("requested", "urgent")
    assert made.description == "Screen again now: due since 4 March 2026, 08:21 (UTC+1)."
    assert made.restriction.period.end == ended < now.plan.plan.rescreen_due
    assert made.status_reason is not None
    assert made.status_reason.text == (
        "The plan was ended early. A fall or a near fall. In the bathroom."
    )
    assert made.text is not None
    assert made.description in made.text.div
    assert "ran out" not in made.text.div


def test_the_screen_is_due_since_a_fall_was_told_though_it_was_told_of_the_plan_before() -> None:
    now = stood(FULL, Kind.LAPSED, early="A fall or a near fall.")
    *before, lapse = now.plan.events

    def told(minutes_before: int) -> Task:
        since = lapse.at - timedelta(minutes=minutes_before)
        events = (*before, replace(lapse, since=since))
        return task(standing(replace(now, plan=replace(now.plan, events=events))))

    made = told(5)
    assert made.description == "Screen again now: due since 4 March 2026, 08:16 (UTC+1)."
    assert made.restriction.period.end == lapse.at - timedelta(minutes=5)
    period = told(60).restriction.period
    assert period.start == period.end == now.plan.plan.valid_from


@pytest.mark.parametrize(
    ("now", "status"),
    [
        (stood(BARE, Kind.WITHDRAWN, current=False), "entered-in-error"),
        (stood(BARE, Kind.SUPERSEDED, current=False), "cancelled"),
    ],
)
def test_it_is_called_off_with_its_plan(now: Stood, status: str) -> None:
    made = task(standing(now))
    assert made.status == status
    assert made.status_reason is not None


def test_the_next_screen_completes_it_and_is_what_it_gave() -> None:
    made = task(standing(stood(FULL), followed=NEXT_SCREEN))
    assert made.status == "completed"
    (output,) = made.output
    assert output.value_reference.reference == f"QuestionnaireResponse/{NEXT_SCREEN}"


@pytest.mark.parametrize(
    "told",
    [
        standing(stood(FULL)),
        standing(stood(BARE, Kind.LAPSED)),
        standing(stood(BARE, Kind.LAPSED, early="A fall.")),
        standing(stood(BARE, Kind.WITHDRAWN, current=False)),
        standing(stood(FULL), followed=NEXT_SCREEN),
    ],
    ids=["asked for", "overdue", "ended", "withdrawn", "done"],
)
def test_every_validator_takes_a_task_in_every_state(told: Standing) -> None:
    raw = bytes_of(task(told))
    assert resource_faults(read(raw)) == []
    assert form_faults(raw) == []
    assert parse_faults(raw) == []
    assert official_faults(without_decimals(raw)) == []
