"""Who and what made the plan and the findings, from which screen, and who changed the plan?"""

from collections.abc import Iterator

from service.domain.plan import Plan, RuleBookRef
from service.domain.record import Answer, PlanEvent, ScreenRecord, ScreenStatus
from service.domain.value import Clinician
from service.fhir.care_plan import early_end, version_of
from service.fhir.codes import ASSEMBLER, AUTHOR, CHOOSER, ENDER, ENTERER
from service.fhir.narrative import said
from service.fhir.overrule import choosers
from service.fhir.own_sent_codes import DONE
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
from service.fhir.subject import assessor_of, practitioner_of
from service.fhir.text import clock_time, tidy, zoned

_SOFTWARE = "software"
_BY_STATUS = {
    ScreenStatus.FINAL: "screened",
    ScreenStatus.AMENDED: "corrected",
    ScreenStatus.WITHDRAWN: "withdrawn",
}


def provenance_of(
    site: Site,
    answer: Answer,
    care_plan: CarePlan,
    observations: tuple[Observation, ...],
    events: tuple[PlanEvent, ...] = (),
) -> Provenance:
    """Of exactly these versions of the plan and the findings. ``events``: the plan's; the last
    thing that somebody did to the plan up to this version is what is told as done."""
    record, change = answer.screen, _change(answer, events[: answer.plan.version])
    code = _BY_STATUS[record.status] if change is None else _code(change)
    books = _books(answer, change)
    return Provenance(
        id=f"{record.id}-provenance",
        meta=Meta(
            version_id=f"{record.version}.{version_of(answer.plan)}",
            last_updated=care_plan.meta.last_updated,
            profile=(site.profile("provenance"),),
        ),
        text=said(f"{DONE[code]}. {_sentence(record, answer.rule_book)}{_changed(record, change)}"),
        contained=tuple([device_of(site, book, name) for name, book in books.items()]),
        target=(_versioned("CarePlan", care_plan), *_targets(observations)),
        occurred_date_time=zoned(record.content.observed_at) if change is None else change.told_at,
        recorded=record.recorded_at if change is None else change.at,
        reason=tuple([CodeableConcept(text=tidy(why)) for why in _reasons(record, change)]),
        activity=site.concept("provenance-activity", code, DONE[code]),
        agent=(
            _person(record),
            *_changers(answer.plan, change),
            *[Agent(ASSEMBLER, Reference(reference=f"#{name}")) for name in books],
        ),
        entity=(Entity("source", _response(record)),),
    )


def _change(answer: Answer, events: tuple[PlanEvent, ...]) -> PlanEvent | None:
    """The last choice, or what ended the plan before its time; None where the screen was in
    error all along."""
    if answer.screen.status == ScreenStatus.WITHDRAWN:
        return None
    early = early_end(answer.plan, events)
    told = [one for one in events if one.overruled or one is early]
    return told[-1] if told else None


def _code(change: PlanEvent) -> str:
    if change.overruled is None:
        return "ended"
    return "taken_back" if change.overruled.back else "overruled"


def _books(answer: Answer, change: PlanEvent | None) -> dict[str, RuleBookRef]:
    """The rule books that were asked, each under a name: the one that made the plan, and others
    that were in use when a choice was made."""
    chosen = [one.overrule.rule_book for one in answer.plan.moves if one.overrule is not None]
    last = [change.overruled.rule_book] if change is not None and change.overruled else []
    books = dict.fromkeys([answer.rule_book, *chosen, *last])
    return {f"{_SOFTWARE}-{n}" if n > 1 else _SOFTWARE: one for n, one in enumerate(books, 1)}


def _changers(plan: Plan, change: PlanEvent | None) -> Iterator[Agent]:
    """Whose choices stand and who took one back, each once; who sent word of what ended it."""
    told = change.overruled if change is not None else None
    chose: dict[Clinician, None] = dict.fromkeys([*([told.by] if told else []), *choosers(plan)])
    yield from [Agent(CHOOSER, practitioner_of(one)) for one in chose]
    if change is not None and told is None:
        yield Agent(ENDER, Reference(display=tidy(change.actor)))


def _targets(observations: tuple[Observation, ...]) -> list[Reference]:
    return [_versioned("Observation", one) for one in observations]


def _versioned(kind: str, resource: CarePlan | Observation) -> Reference:
    version = resource.meta.version_id
    return Reference(reference=f"{kind}/{resource.id}/_history/{version}")


def _response(record: ScreenRecord) -> Reference:
    return Reference(reference=f"QuestionnaireResponse/{record.id}/_history/{record.version}")


def _reasons(record: ScreenRecord, change: PlanEvent | None) -> list[str]:
    """Why the screen was corrected or withdrawn, and why the plan is not as it was computed."""
    why = None if change is None else (change.overruled or change).reason
    return [one for one in (record.correction_reason, why) if one]


def _person(record: ScreenRecord) -> Agent:
    """The assessor; where none was named, whoever sent the screen."""
    assessor = assessor_of(record)
    if assessor is not None:
        return Agent(AUTHOR, assessor)
    return Agent(ENTERER, Reference(display=tidy(record.recorded_by)))


def _sentence(record: ScreenRecord, ref: RuleBookRef) -> str:
    return (
        f"From screen {record.id}, version {record.version}, by {_name(_person(record).who)},"
        f" with Stanchion, rule book {ref.version} ({ref.digest})."
    )


def _changed(record: ScreenRecord, change: PlanEvent | None) -> str:
    if change is None:
        return ""
    when = clock_time(change.told_at, record.content.observed_at)
    said = change.overruled
    if said is None:
        return f" Ended: {when}, as {change.actor} sent word. Reason: {change.reason}"
    chose = "as computed" if said.back else "chosen"
    who = _name(practitioner_of(said.by))
    return (
        f" {said.answer.move_title}: {said.answer.method_title}, {chose}: {when}, by {who}."
        f" Reason: {said.reason}"
    )


def _name(who: Reference) -> str | None:
    return who.identifier.value if who.identifier else who.display
