"""Is there a Provenance version for each version of the screen and of its plan, and no other?"""

from datetime import timedelta

from msgspec.structs import replace

from service.application.ports import KeptPlan, KeptScreen
from service.domain.record import PlanEvent, PlanEventKind, ScreenStatus
from service.fhir.provenance_history import newest_provenance, provenances_of
from tests.fhir.answers import FULL, RECORDED_AT, SITE, answer_to

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
