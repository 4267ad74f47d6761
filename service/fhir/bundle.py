"""Which resources answer a screen, and how are resources held together in a Bundle?"""

from collections.abc import Iterable, Mapping
from typing import Literal

from service.domain.record import Answer, PlanEvent
from service.fhir.axis_findings import axis_findings
from service.fhir.care_plan import care_plan_of
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
    SearchMode,
)
from service.fhir.score_findings import score_findings
from service.fhir.site import Site
from service.fhir.stage_findings import stage_findings
from service.fhir.structs import Meta

_MATCH = SearchMode("match")


def bundle_of(
    site: Site,
    answer: Answer,
    events: tuple[PlanEvent, ...] = (),
    versions: Mapping[str, int] | None = None,
) -> Bundle:
    """The whole answer to a screen as a collection.

    ``events``: the plan's, in order. ``versions``: for each finding the screen version that
    last changed it; left out, a corrected screen shows every finding as amended.
    """
    record = answer.screen
    observations = observations_of(site, answer, versions)
    care_plan = care_plan_of(site, answer.plan, record, events)
    provenance = provenance_of(site, answer, care_plan, observations)
    resources: tuple[AnyResource, ...] = (
        patient_of(record),
        response_of(site, record),
        *observations,
        care_plan,
        provenance,
    )
    latest = max(care_plan.meta.last_updated or record.recorded_at, record.recorded_at)
    return Bundle(
        id=f"{record.id}-answer",
        meta=Meta(version_id=provenance.meta.version_id, last_updated=latest),
        type="collection",
        timestamp=latest,
        entry=tuple([Entry(full_url=_address(site, one), resource=one) for one in resources]),
    )


def observations_of(
    site: Site, answer: Answer, versions: Mapping[str, int] | None = None
) -> tuple[Observation, ...]:
    """The panel, then its members."""
    frame = frame_of(site, answer.screen, versions)
    members = (
        *readiness_findings(frame),
        *stage_findings(frame),
        *axis_findings(frame, answer.profile),
        *score_findings(frame, answer.tests),
    )
    return (frame.panel(members), *members)


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
