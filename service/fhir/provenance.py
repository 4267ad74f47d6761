"""Who and what made the plan and the findings, from which screen?"""

from service.domain.plan import RuleBookRef
from service.domain.record import Answer, ScreenRecord, ScreenStatus
from service.fhir.care_plan import version_of
from service.fhir.codes import ASSEMBLER, AUTHOR, ENTERER
from service.fhir.narrative import said
from service.fhir.resources import (
    Agent,
    CarePlan,
    Entity,
    Observation,
    Provenance,
)
from service.fhir.site import Site
from service.fhir.software import device_of
from service.fhir.structs import CodeableConcept, Meta, Reference
from service.fhir.subject import assessor_of
from service.fhir.text import tidy, zoned

_SOFTWARE = "software"
_DONE = {
    ScreenStatus.FINAL: ("screened", "Screen recorded, plan made from it"),
    ScreenStatus.AMENDED: ("corrected", "Screen corrected, plan made anew"),
    ScreenStatus.WITHDRAWN: ("withdrawn", "Screen and plan marked as entered in error"),
}


def provenance_of(
    site: Site, answer: Answer, care_plan: CarePlan, observations: tuple[Observation, ...]
) -> Provenance:
    """Of exactly these versions of the plan and the findings."""
    record = answer.screen
    code, done = _DONE[record.status]
    return Provenance(
        id=f"{record.id}-provenance",
        meta=Meta(
            version_id=f"{record.version}.{version_of(answer.plan)}",
            last_updated=care_plan.meta.last_updated,
            profile=(site.profile("provenance"),),
        ),
        text=said(f"{done}. {_sentence(record, answer.rule_book)}"),
        contained=(device_of(site, answer.rule_book, _SOFTWARE),),
        target=(_versioned("CarePlan", care_plan), *_targets(observations)),
        occurred_date_time=zoned(record.content.observed_at),
        recorded=record.recorded_at,
        reason=_reason(record),
        activity=site.concept("provenance-activity", code, done),
        agent=(_person(record), Agent(ASSEMBLER, Reference(reference=f"#{_SOFTWARE}"))),
        entity=(Entity("source", _response(record)),),
    )


def _targets(observations: tuple[Observation, ...]) -> list[Reference]:
    return [_versioned("Observation", one) for one in observations]


def _versioned(kind: str, resource: CarePlan | Observation) -> Reference:
    version = resource.meta.version_id
    return Reference(reference=f"{kind}/{resource.id}/_history/{version}")


def _response(record: ScreenRecord) -> Reference:
    return Reference(reference=f"QuestionnaireResponse/{record.id}/_history/{record.version}")


def _reason(record: ScreenRecord) -> tuple[CodeableConcept, ...]:
    why = record.correction_reason
    return (CodeableConcept(text=tidy(why)),) if why else ()


def _person(record: ScreenRecord) -> Agent:
    """The assessor; where none was named, whoever sent the screen."""
    assessor = assessor_of(record)
    if assessor is not None:
        return Agent(AUTHOR, assessor)
    return Agent(ENTERER, Reference(display=tidy(record.recorded_by)))


def _sentence(record: ScreenRecord, ref: RuleBookRef) -> str:
    who = _person(record).who
    name = who.identifier.value if who.identifier else who.display
    return (
        f"From screen {record.id}, version {record.version}, by {name}, with Stanchion,"
        f" rule book {ref.version} ({ref.digest})."
    )
