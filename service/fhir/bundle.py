"""Which resources answer a screen, and how are resources held together in a Bundle?"""

from collections.abc import Iterable
from typing import Literal

from service.application.ports import Standing
from service.application.search_ports import Screened
from service.domain.plan import PlanState
from service.domain.record import Answer, PlanEvent
from service.fhir.axis_findings import axis_findings
from service.fhir.care_plan import care_plan_of
from service.fhir.flag import flags
from service.fhir.goal import goals
from service.fhir.observation import frame_of
from service.fhir.patient import patient_of
from service.fhir.provenance import provenance_of
from service.fhir.questionnaire_response import response_of
from service.fhir.readiness_findings import readiness_findings
from service.fhir.resources import (
    AnyResource,
    Bundle,
    Entry,
    Link,
    Observation,
    Patient,
    SearchMode,
)
from service.fhir.score_findings import score_findings
from service.fhir.site import Site
from service.fhir.stage_findings import stage_findings
from service.fhir.standing_resources import Flag, Goal, Task
from service.fhir.structs import Meta
from service.fhir.task import tasks
from service.fhir.vital_signs import nested_findings, size_findings, vital_findings
from service.fhir.whole import first_standing, whole_of

_MATCH = SearchMode("match")


def bundle_of(
    site: Site,
    answer: Answer,
    events: tuple[PlanEvent, ...] = (),
    findings: tuple[Observation, ...] | None = None,
    standing: Standing | None = None,
    patient: Patient | None = None,
) -> Bundle:
    """The whole answer to a screen as a collection.

    ``events``: the plan's, in order. ``findings``: the Observations, each in its version; left
    out, a corrected screen shows every finding as amended. ``standing``: where the patient
    stands; what is told of the patient as a whole goes out while this plan is the one in question.
    ``patient``: the person, where the screen does not say all of it itself.
    """
    record = answer.screen
    observations = observations_of(site, answer) if findings is None else findings
    whole = _whole(site, answer, standing)
    care_plan = care_plan_of(site, answer.plan, record, events)
    provenance = provenance_of(site, answer, care_plan, observations, events)
    resources: tuple[AnyResource, ...] = (
        patient or patient_of(site, record),
        response_of(site, record),
        *observations,
        care_plan,
        *whole,
        provenance,
    )
    latest = max([one.meta.last_updated or record.recorded_at for one in resources])
    return Bundle(
        id=f"{record.id}-answer",
        meta=Meta(version_id=provenance.meta.version_id, last_updated=latest),
        type="collection",
        timestamp=latest,
        entry=tuple([Entry(full_url=_address(site, one), resource=one) for one in resources]),
    )


def _whole(site: Site, answer: Answer, standing: Standing | None) -> tuple[Goal | Flag | Task, ...]:
    if standing is None:
        if answer.plan.state not in (PlanState.CURRENT, PlanState.LAPSED):
            return ()
        standing = first_standing(answer)
    if standing.plan.plan.id != answer.plan.id:
        return ()
    return told_of(site, standing)


def told_of(site: Site, standing: Standing) -> tuple[Goal | Flag | Task, ...]:
    """All that is told of a patient as a whole."""
    whole = whole_of(site, standing)
    return (*goals(whole), *flags(whole), *tasks(whole))


def observations_of(site: Site, answer: Answer | Screened) -> tuple[Observation, ...]:
    """The panel, its members, then what belongs to one of these or to another hour, all as of
    this version of the screen."""
    frame = frame_of(site, answer.screen)
    seen = [
        *readiness_findings(frame),
        *vital_findings(frame),
        *stage_findings(frame),
    ]
    scores = score_findings(frame, answer.tests)
    beside = [*nested_findings(frame), *size_findings(frame)]
    begin = len(answer.screen.id) + 1
    told = {str(one.id)[begin:] for part in (seen, scores, beside) for one in part}
    members = [*seen, *axis_findings(frame, answer.profile, told), *scores]
    return (frame.panel([str(one.id)[begin:] for one in members]), *members, *beside)


def wrapped(
    site: Site,
    kind: Literal["collection", "searchset"],
    resources: Iterable[AnyResource],
    total: int | None = None,
    links: Iterable[tuple[str, str]] = (),
) -> Bundle:
    """``resources`` as a Bundle; in a ``searchset`` every one is a match."""
    search = _MATCH if kind == "searchset" else None
    return Bundle(
        type=kind,
        total=total,
        link=tuple([Link(relation, url) for relation, url in links]),
        entry=tuple(
            [Entry(full_url=_address(site, one), resource=one, search=search) for one in resources]
        ),
    )


def _address(site: Site, resource: AnyResource) -> str:
    return f"{site.base}/{type(resource).__name__}/{resource.id}"
