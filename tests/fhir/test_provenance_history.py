"""Is there a Provenance version for each version of the screen and of its plan, and no other?"""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from service.application.ports import KeptPlan, KeptScreen
from service.domain.move import Move
from service.domain.record import PlanEvent, PlanEventKind, ScreenStatus
from service.fhir.provenance_history import newest_provenance, provenances_of
from tests.fhir.answers import FULL, RECORDED_AT, SITE, answer_to
from tests.fhir.overruled import decided

CREATED, SUPERSEDED, LAPSED, WITHDRAWN = (
    PlanEventKind.CREATED,
    PlanEventKind.SUPERSEDED,
    PlanEventKind.LAPSED,
    PlanEventKind.WITHDRAWN,
)
NOW = RECORDED_AT + timedelta(hours=1)
Said = tuple[PlanEventKind, int]


def kept(version: int, minute: int, status: str, *events: Said, current: bool = True) -> KeptScreen:
    answer = answer_to(FULL)
    record = replace(
        answer.screen,
        version=version,
        status=ScreenStatus(status),
        recorded_at=RECORDED_AT + timedelta(minutes=minute),
    )
    plan = replace(answer.plan, id=f"plan-{version}", valid_until=NOW + timedelta(hours=9))
    told = tuple(
        PlanEvent(plan.id, number, kind, RECORDED_AT + timedelta(minutes=at), "ward")
        for number, (kind, at) in enumerate(events, 1)
    )
    return KeptScreen(record, answer.profile, answer.tests, KeptPlan(plan, told, current))


def versions(*history: KeptScreen) -> list[str | None]:
    return [one.meta.version_id for one in provenances_of(SITE, history, NOW)]


def test_every_event_of_the_plan_is_a_version() -> None:
    screen = kept(1, 0, "final", (CREATED, 0), (SUPERSEDED, 9), current=False)
    assert versions(screen) == ["1.2", "1.1"]
    newest = newest_provenance(SITE, (screen,), NOW)
    assert newest.target[0].reference == "CarePlan/plan-1/_history/2"


def test_what_happens_to_a_plan_that_a_correction_replaced_tells_no_more() -> None:
    first = kept(1, 0, "final", (CREATED, 0), (SUPERSEDED, 5), current=False)
    second = kept(2, 5, "amended", (CREATED, 5), (LAPSED, 30))
    assert versions(first, second) == ["2.2", "2.1", "1.1"]


def test_a_withdrawal_is_told_of_the_withdrawn_plan() -> None:
    first = kept(1, 0, "final", (CREATED, 0), (WITHDRAWN, 5), current=False)
    second = replace(
        first,
        record=replace(
            first.record,
            version=2,
            status=ScreenStatus.WITHDRAWN,
            recorded_at=RECORDED_AT + timedelta(minutes=5),
        ),
    )
    assert versions(first, second) == ["2.2", "1.1"]


def test_its_targets_are_the_versions_that_stood_then() -> None:
    first = kept(1, 0, "final", (CREATED, 0), (SUPERSEDED, 5), current=False)
    second = kept(2, 5, "amended", (CREATED, 5))
    newest, before = provenances_of(SITE, (first, second), NOW)
    assert newest == newest_provenance(SITE, (first, second), NOW)
    findings = {str(one.reference).rpartition("/")[2] for one in newest.target[1:]}
    assert findings == {"1"}
    assert newest.entity[0].what.reference != before.entity[0].what.reference


def test_each_choice_for_a_plan_is_a_version_that_tells_of_that_choice() -> None:
    answer, screen = answer_to(FULL), kept(1, 0, "final", (CREATED, 0))
    first = decided(answer, Move.BED_TO_CHAIR, "sling_lift", 2)
    second = decided(answer, Move.BED_TO_CHAIR, "do_not_move", 3)
    told = tuple(replace(one, at=RECORDED_AT) for one in (first, second))
    plan = replace(screen.plan, events=(*screen.plan.events, *told))
    history = provenances_of(SITE, (replace(screen, plan=plan),), NOW)
    assert [one.meta.version_id for one in history] == ["1.3", "1.2", "1.1"]
    assert [one.activity.coding[0].code for one in history] == [
        "taken_back", "overruled", "screened",
    ]  # fmt: skip
    assert [str(one.target[0].reference)[-1] for one in history] == ["3", "2", "1"]


@pytest.mark.parametrize("minute", [5, 9], ids=["before", "in one breath with it"])
def test_a_choice_for_the_plan_before_a_correction_tells_nothing_of_the_plan_after(
    minute: int,
) -> None:
    first = kept(1, 0, "final", (CREATED, 0), (SUPERSEDED, 9), current=False)
    chose = decided(answer_to(FULL), Move.BED_TO_CHAIR, "sling_lift")
    chose = replace(chose, plan=first.plan.plan.id, at=RECORDED_AT + timedelta(minutes=minute))
    made, gone = first.plan.events
    first = replace(first, plan=replace(first.plan, events=(made, chose, replace(gone, version=3))))
    second = kept(2, 9, "amended", (CREATED, 9))
    history = provenances_of(SITE, (first, second), NOW)
    assert [(one.meta.version_id, one.activity.coding[0].code) for one in history] == [
        ("2.1", "corrected"), ("1.2", "overruled"), ("1.1", "screened"),
    ]  # fmt: skip
