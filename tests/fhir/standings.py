"""Where do the patients of these tests stand? Made from the engine's own answers."""

from datetime import datetime, timedelta

from msgspec.structs import replace

from service.application.ports import KeptPlan, Standing, Stood
from service.domain.record import Answer, PatientRecord, PlanEvent, PlanEventKind
from service.domain.screen import Screen
from tests.fhir.answers import BARE, FULL, PATIENT_ID, PLAN_ID, RECORDED_AT, answer_to

WITHHELD = replace(FULL, readiness=replace(FULL.readiness, rass=4))
"""Combative: nothing is done, no goal is set, no method but staying."""
STEADY = replace(
    BARE,
    patient=replace(BARE.patient, falls_last_12_months=0),
    context=replace(BARE.context, on_the_floor=None),
)
"""Nothing speaks for a fall and nothing was tried."""


def happened(plan: str, *kinds: PlanEventKind, at: datetime = RECORDED_AT) -> tuple[PlanEvent, ...]:
    return tuple(
        PlanEvent(plan, version, kind, at + timedelta(minutes=version - 1), "ward key")
        for version, kind in enumerate((PlanEventKind.CREATED, *kinds), 1)
    )


def stood(
    screen: Screen,
    *kinds: PlanEventKind,
    current: bool = True,
    number: int = 0,
    early: str | None = None,
) -> Stood:
    """The plan for ``screen``, observed so many hours before, with what happened to it. It lapsed
    when its time ran out, or ``early`` for that reason."""
    content = replace(screen, observed_at=screen.observed_at - timedelta(hours=number))
    answer = answer_to(content)
    plan_id = f"{PLAN_ID[:-2]}{number:02d}"
    plan = replace(answer.plan, id=plan_id)
    events = [
        one
        if one.kind != PlanEventKind.LAPSED
        else replace(one, reason=early, at=one.at if early else plan.valid_until)
        for one in happened(plan_id, *kinds)
    ]
    return Stood(
        KeptPlan(plan, tuple(events), current),
        answer.screen,
        answer.profile,
        answer.tests,
    )


def standing(
    now: Stood, *earlier: Stood, rev: int = 7, into: str | None = None, followed: str | None = None
) -> Standing:
    current = now.plan.plan.id if now.plan.is_current else None
    at = now.plan.events[-1].at
    at = max(at, *[one.at for one in now.plan.events])
    return Standing(PatientRecord(PATIENT_ID, current, into), rev, at, now, earlier, followed)


def answer_of(now: Stood) -> Answer:
    return Answer(now.screen, now.profile, now.tests, now.plan.plan, now.plan.plan.rule_book)
