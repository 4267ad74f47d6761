"""How does a plan become a CarePlan?"""

from collections.abc import Iterable, Mapping
from datetime import datetime

from service.domain.plan import Goal, Interim, Plan, PlannedMove, PlanState
from service.domain.record import PlanEvent, PlanEventKind, ScreenRecord
from service.fhir.activity import activity_of, move_story
from service.fhir.codes import ASSESS_PLAN
from service.fhir.kinds import goal_kind
from service.fhir.narrative import bullets, narrative, safe
from service.fhir.overrule import Moment, choice_brief, choice_notes, choosers
from service.fhir.resources import CarePlan
from service.fhir.site import Site
from service.fhir.structs import Annotation, CodeableConcept, Identifier, Meta, Period, Reference
from service.fhir.subject import (
    assessor_of,
    encounter_of,
    patient_id,
    practitioner_of,
    software_of,
    subject_of,
)
from service.fhir.text import clock_time, tidy, zoned

_STATUS = {
    PlanState.CURRENT: "active",
    PlanState.SUPERSEDED: "revoked",
    PlanState.LAPSED: "completed",
    PlanState.WITHDRAWN: "entered-in-error",
}
STATUSES: Mapping[PlanState, tuple[str, ...]] = {
    state: (status, "revoked") if state == PlanState.LAPSED else (status,)
    for state, status in _STATUS.items()
}
"""Which a plan in a state may have: a lapsed one may have been ended before its time."""
_TITLE = "Safe patient handling plan"


def care_plan_of(
    site: Site,
    plan: Plan,
    record: ScreenRecord,
    events: tuple[PlanEvent, ...] = (),
) -> CarePlan:
    """The CarePlan of ``plan``, which rests on the screen ``record``.

    ``events``: the plan's; those up to its version, as more may come while it is read, date it and
    say why it ended, which choices were taken back, and for whom it counts.
    """
    at, events = _local(record), events[: plan.version]
    headline = _headline(plan, events, at)
    said = [Annotation(tidy(note)) for note in (*_notes(plan, at), *_ended(plan, events))]
    notes = (*choice_notes(plan, events, at), *said)
    period = Period(plan.valid_from, plan.valid_until)
    return CarePlan(
        id=plan.id,
        meta=_meta(site, plan, record, events),
        text=narrative(_story(plan, headline, notes, at)),
        identifier=(Identifier(site.identifier_system("plan"), plan.id),),
        instantiates_canonical=_instantiates(site, plan),
        replaces=(Reference(reference=f"CarePlan/{plan.replaces}"),) if plan.replaces else (),
        status=status_of(plan, events),
        intent="plan",
        category=categories(site),
        title=_TITLE,
        description=tidy(" ".join([headline, *[_brief(move) for move in plan.moves]])),
        subject=subject_of(site, record),
        encounter=encounter_of(record),
        period=period,
        created=_created(record, events),
        author=software_of(site, plan.rule_book),
        contributor=_contributors(plan, record),
        supporting_info=_supporting(plan),
        goal=_goals(plan, _whose(events) or patient_id(record)),
        activity=tuple([activity_of(site, plan, move, period, at) for move in plan.moves]),
        note=notes,
    )


def _meta(site: Site, plan: Plan, record: ScreenRecord, events: tuple[PlanEvent, ...]) -> Meta:
    return Meta(
        version_id=version_of(plan),
        last_updated=changed_at(plan, record, events),
        profile=(site.profile("care-plan"),),
    )


def _instantiates(site: Site, plan: Plan) -> tuple[str, ...]:
    version = plan.rule_book.version
    return (site.definition("PlanDefinition", "safe_patient_handling", version),)


def categories(site: Site) -> tuple[CodeableConcept, ...]:
    """The same for every plan."""
    own = site.concept("care-plan-category", "safe_patient_handling", _TITLE)
    return (ASSESS_PLAN, own)


def version_of(plan: Plan) -> str:
    """The number of the plan's events; a previewed plan has none yet and is shown as the first."""
    return str(plan.version or 1)


def status_of(plan: Plan, events: tuple[PlanEvent, ...]) -> str:
    """Completed when its time ran out; revoked when something ended it before."""
    ended = _ended_early(plan, events)
    return "revoked" if ended else _STATUS[plan.state]


def changed_at(plan: Plan, record: ScreenRecord, events: tuple[PlanEvent, ...]) -> datetime:
    """When the plan came into the state it is in."""
    moments = [record.recorded_at, *(event.at for event in events)]
    noted = any(event.kind == PlanEventKind.LAPSED for event in events)
    if plan.state == PlanState.LAPSED and not noted:
        moments.append(plan.valid_until)
    return max(moments)


def _created(record: ScreenRecord, events: tuple[PlanEvent, ...]) -> datetime:
    """When the plan was made, which the record of a later withdrawal does not tell."""
    made = (event.at for event in events if event.kind == PlanEventKind.CREATED)
    return next(made, record.recorded_at)


def early_end(plan: Plan, events: Iterable[PlanEvent]) -> PlanEvent | None:
    """What ended the plan before its time, whatever became of the plan since."""
    lapses = (event for event in events if event.kind == PlanEventKind.LAPSED)
    return next((event for event in lapses if event.at < plan.valid_until), None)


def _ended_early(plan: Plan, events: tuple[PlanEvent, ...]) -> bool:
    return plan.state == PlanState.LAPSED and early_end(plan, events) is not None


def _local(record: ScreenRecord) -> Moment:
    observed = zoned(record.content.observed_at)
    return lambda moment: clock_time(moment, observed)


def _contributors(plan: Plan, record: ScreenRecord) -> tuple[Reference, ...]:
    """Who screened and who chose otherwise, each once."""
    assessor = assessor_of(record)
    chose = [practitioner_of(one) for one in choosers(plan)]
    return tuple(dict.fromkeys([*([assessor] if assessor else []), *chose]))


def _supporting(plan: Plan) -> tuple[Reference, ...]:
    return (
        Reference(reference=f"QuestionnaireResponse/{plan.screen_id}"),
        Reference(reference=f"Observation/{plan.screen_id}-panel"),
    )


def _whose(events: tuple[PlanEvent, ...]) -> str | None:
    return events[-1].patient if events else None


def _goals(plan: Plan, patient: str) -> tuple[Reference, ...]:
    """The patient's goals while they are the ones of this plan."""
    if plan.state not in (PlanState.CURRENT, PlanState.LAPSED):
        return ()
    return tuple([Reference(reference=f"Goal/{patient}-{goal_kind(goal)}") for goal in plan.goals])


def _headline(plan: Plan, events: tuple[PlanEvent, ...], at: Moment) -> str:
    if _ended_early(plan, events):
        return "This plan was ended early and no longer holds: screen again before moving."
    return _HEADLINE[plan.state].format(start=at(plan.valid_from), end=at(plan.valid_until))


_HEADLINE = {
    PlanState.CURRENT: "Valid from {start} until {end}.",
    PlanState.SUPERSEDED: "This plan was replaced and no longer holds: use the newer one.",
    PlanState.LAPSED: "This plan ran out on {end}: screen again before moving.",
    PlanState.WITHDRAWN: "Entered in error: do not use this plan.",
}


def _brief(move: PlannedMove) -> str:
    helpers = "helpers as the clinician directs"
    if move.helpers is not None:
        helpers = f"{move.helpers} helper{'' if move.helpers == 1 else 's'}"
    return f"{move.move_title}: {move.method_title}{choice_brief(move)}, {helpers}."


def _notes(plan: Plan, at: Moment) -> list[str]:
    """What the plan says as a whole, beside its moves."""
    return [
        *[f"To be confirmed by a clinician: {one.text}" for one in plan.conditions],
        *[one.text for one in plan.notices],
        f"Screen again by {at(plan.rescreen_due)}.",
        *[f"Screen again at once: {one.text}" for one in plan.rescreen_when],
        *[_goal(goal) for goal in plan.goals],
        *([_exercise(plan)] if plan.exercise else []),
        *[_interim(one) for one in plan.while_lapsed],
    ]


def _goal(goal: Goal) -> str:
    return f"Next goal: {goal.text}"


def _exercise(plan: Plan) -> str:
    exercise = plan.exercise
    if exercise is None or exercise.seat_height_cm_low is None:
        return f"Exercise: {exercise.text}" if exercise else ""
    seat = f"{exercise.seat_height_cm_low} to {exercise.seat_height_cm_high} cm"
    return f"Exercise: {exercise.text} Seat height: {seat}."


def _interim(one: Interim) -> str:
    helpers = "" if one.helpers is None else f", helpers: {one.helpers}"
    move = one.move.value.replace("_", " ")
    return f"Should the plan have run out with no new screen, {move}: {one.method_title}{helpers}."


def _ended(plan: Plan, events: tuple[PlanEvent, ...]) -> list[str]:
    """Why the plan no longer holds, as far as somebody said so."""
    if plan.state == PlanState.CURRENT:
        return []
    return [f"Ended: {one.reason}" for one in events if one.reason and one.kind in _ENDING]


_ENDING = (PlanEventKind.SUPERSEDED, PlanEventKind.LAPSED, PlanEventKind.WITHDRAWN)


def _story(plan: Plan, headline: str, notes: tuple[Annotation, ...], at: Moment) -> str:
    return (
        f"<h2>{_TITLE}</h2><p>{safe(headline)}</p>"
        + "".join([move_story(move, at) for move in plan.moves])
        + bullets("To know", [note.text for note in notes])
    )
