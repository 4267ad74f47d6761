"""How did the Provenance of a screen stand after each version of the screen and its plan?

Its version names both, and says what was done last: to the screen, or to the plan by a clinician
or whoever ended it. A plan that a correction replaced tells no more from then on.
"""

from collections.abc import Iterator
from datetime import datetime

from service.application.answer import answer_now
from service.application.plan_history import PlanVersion, plan_versions
from service.application.ports import KeptScreen
from service.domain.record import Answer, PlanEventKind
from service.fhir.care_plan import care_plan_of
from service.fhir.finding_history import Findings, findings_of
from service.fhir.provenance import provenance_of
from service.fhir.resources import Observation, Provenance
from service.fhir.site import Site

PROVENANCE = "provenance"


def provenances_of(
    site: Site, history: tuple[KeptScreen, ...], now: datetime
) -> tuple[Provenance, ...]:
    """Every version, newest first. ``history``: the screen's versions, oldest first."""
    findings, found = Findings(site), []
    for kept, after in zip(history, (*history[1:], None), strict=True):
        answer = answer_now(kept, now)
        findings.add(answer)
        observations = findings.newest()
        until = None if after is None else after.record.recorded_at
        told = [_made(site, answer, one, observations) for one in _within(kept, until, now)]
        found.extend(told)
    return tuple(found[::-1])


def newest_provenance(site: Site, history: tuple[KeptScreen, ...], now: datetime) -> Provenance:
    findings = findings_of(site, [answer_now(kept, now) for kept in history])
    *_, newest = _within(history[-1], None, now)
    return _made(site, answer_now(history[-1], now), newest, findings.newest())


def _within(kept: KeptScreen, until: datetime | None, now: datetime) -> Iterator[PlanVersion]:
    """The plan's versions, oldest first, made while this version of the screen was the newest."""
    versions = plan_versions(kept.plan, now)[::-1]
    since = kept.record.recorded_at
    replanned = all(event.kind != PlanEventKind.WITHDRAWN for event in kept.plan.events)
    told = [
        one
        for one in versions
        if (until is None or _at(one) < until or (replanned and _chosen(one, until)))
        and (_at(one) >= since or one is versions[-1])
    ]
    yield from told or versions[:1]


def _chosen(version: PlanVersion, at: datetime) -> bool:
    """Whether a clinician made this version in the very moment of a correction: for what was
    corrected, as nobody could have read what came of it."""
    return version.events[-1].overruled is not None and _at(version) == at


def _at(version: PlanVersion) -> datetime:
    return version.events[-1].at


def _made(
    site: Site, answer: Answer, version: PlanVersion, observations: tuple[Observation, ...]
) -> Provenance:
    plan, events = version.plan, version.events
    care_plan = care_plan_of(site, plan, answer.screen, events)
    told = Answer(answer.screen, answer.profile, answer.tests, plan, answer.rule_book)
    return provenance_of(site, told, care_plan, observations, events)
