"""Does a plan that nobody read answer a search as its CarePlan would?"""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from service.application.search_ports import SeenPlan
from service.domain.plan import PlanState
from service.domain.record import PlanEvent, PlanEventKind
from service.fhir.care_plan import STATUSES, care_plan_of
from service.fhir.search_parameters import PARAMETERS
from service.fhir.search_plans import searched_plan
from tests.fhir.answers import FULL, SITE, answer_to

ANSWER = answer_to(FULL)
OWN = ("category", "date", "status", "_lastUpdated")


def events(plan_id: str, *kinds: tuple[PlanEventKind, int]) -> tuple[PlanEvent, ...]:
    """Each so many minutes after the plan was made."""
    made = ANSWER.screen.recorded_at
    return tuple(
        [
            PlanEvent(plan_id, number, kind, made + timedelta(minutes=minutes), "Ward")
            for number, (kind, minutes) in enumerate(kinds, 1)
        ]
    )


@pytest.mark.parametrize("state", list(PlanState))
@pytest.mark.parametrize("early", [True, False])
def test_it_answers_every_parameter_as_the_care_plan_does(state: PlanState, *, early: bool) -> None:
    plan = replace(ANSWER.plan, state=state, version=2)
    ended = 60 if early else 60 * 24 * 400
    last = PlanEventKind.LAPSED if state == PlanState.LAPSED else PlanEventKind.RESTORED
    told = events(plan.id, (PlanEventKind.CREATED, 0), (last, ended))
    whole = care_plan_of(SITE, plan, ANSWER.screen, told)
    seen = SeenPlan(
        begin="",
        cursor="",
        id=plan.id,
        state=state,
        valid_from=plan.valid_from,
        valid_until=plan.valid_until,
        changed_at=told[-1].at,
        ended_early=early and state == PlanState.LAPSED,
    )
    glance = searched_plan(SITE, seen)
    assert glance.status in STATUSES[state]
    assert (glance.id, glance.category) == (whole.id, whole.category)
    for name in OWN:
        parameter = PARAMETERS["CarePlan"][name]
        read = parameter.codes or parameter.span
        assert read is not None
        assert read(glance) == read(whole), name


def test_no_parameter_of_a_care_plan_asks_for_more() -> None:
    others = set(PARAMETERS["CarePlan"]) - set(OWN)
    assert others == {"_id", "patient", "subject"}
