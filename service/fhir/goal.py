"""What is the person to reach next, and how far did it come?

One Goal for the next stage and one for the next time to stand, each the same resource for as
long as the patient is known. What it aims at changes with the plans.
"""

from service.application.ports import Standing, Stood
from service.domain.plan import Goal as Aim
from service.domain.plan import PlanState
from service.domain.stages import Outcome, Stage
from service.fhir.codes import ACHIEVED, IN_PROGRESS
from service.fhir.kinds import GOAL_KINDS, goal_kind
from service.fhir.narrative import said
from service.fhir.observation import finding_id
from service.fhir.site import Site
from service.fhir.spell import Spell, spell_of
from service.fhir.standing_resources import Goal, GoalTarget
from service.fhir.structs import Annotation, CodeableConcept, Reference
from service.fhir.text import sentence, tidy
from service.fhir.units import quantity
from service.fhir.whole import Whole, day_of, whole_of
from service.rules.evaluate import Judge

_BY_STATE = {
    PlanState.CURRENT: "active",
    PlanState.LAPSED: "on-hold",
    PlanState.SUPERSEDED: "cancelled",
    PlanState.WITHDRAWN: "entered-in-error",
}
_WHY = {
    PlanState.LAPSED: "The plan ran out: screen again first.",
    PlanState.SUPERSEDED: "The patient's record was joined to another one.",
    PlanState.WITHDRAWN: "The screen was entered in error.",
}
_EARLY = "The plan was ended early: screen again first."
_NOT_NOW = "The newest screen aims at nothing of this kind for now."


def goals_of(site: Site, standing: Standing) -> tuple[Goal, ...]:
    """Every Goal that this patient has or had, in a fixed order."""
    return goals(whole_of(site, standing))


def goals(whole: Whole) -> tuple[Goal, ...]:
    found = [_goal(whole, kind) for kind in GOAL_KINDS]
    return tuple([goal for goal in found if goal is not None])


def _goal(whole: Whole, kind: str) -> Goal | None:
    spell = spell_of(whole.standing, lambda stood: _aim(stood, kind) is not None)
    aim = None if spell is None else _aim(spell.stood, kind)
    if spell is None or aim is None:
        return None
    status, why = _status(whole, spell, aim)
    state = {"active": IN_PROGRESS, "completed": ACHIEVED}.get(status)
    stage = aim.stage or Stage.TIMED_STAND.value
    seen = f"Observation/{whole.standing.screen.id}-{finding_id('stage', stage)}"
    return Goal(
        id=whole.id_of(kind),
        meta=whole.meta("goal"),
        text=said(f"Goal: {aim.text} {_standing(status, state, why)}"),
        identifier=whole.identifier(kind),
        lifecycle_status=status,
        achievement_status=state,
        description=whole.site.concept("goal", aim.goal, aim.text),
        subject=whole.subject,
        start_date=day_of(spell.stood.screen),
        target=(_target(whole.site, aim, stage),),
        status_date=whole.changed_on,
        status_reason=why,
        note=(Annotation(tidy(f"Rests on {aim.source} ({aim.standing.value}).")),),
        outcome_reference=() if state is None else (Reference(reference=seen),),
    )


def _standing(status: str, state: CodeableConcept | None, why: str | None) -> str:
    """The status in words, how far it came, and why it is not active."""
    told = [f"Status: {status}.", *([f"{state.text}."] if state else []), *([why] if why else [])]
    return " ".join(told)


def _aim(stood: Stood, kind: str) -> Aim | None:
    return next((aim for aim in stood.plan.plan.goals if goal_kind(aim) == kind), None)


def _status(whole: Whole, spell: Spell, aim: Aim) -> tuple[str, str | None]:
    """The lifecycle status, and why it is not active."""
    if spell.now:
        return _BY_STATE[whole.state], _EARLY if whole.ended else _WHY.get(whole.state)
    if not spell.sound:
        return "entered-in-error", _WHY[PlanState.WITHDRAWN]
    if not whole.standing.plan.is_current:
        return "cancelled", _WHY[whole.state]
    if _reached(whole, aim):
        return "completed", None
    return "on-hold", _NOT_NOW


def _reached(whole: Whole, aim: Aim) -> bool:
    """Whether the screen that stands shows what was aimed at, where that can still be told."""
    rules = [rule for rule in whole.site.book.goals if rule.id == aim.goal]
    judge = Judge(whole.standing.stood.profile)
    return any(judge.holds(rule.unless) for rule in rules)


def _target(site: Site, aim: Aim, stage: str) -> GoalTarget:
    measure = site.concept("stage", stage, _title(site, stage))
    if aim.target_seconds is not None:
        return GoalTarget(measure=measure, detail_quantity=quantity(aim.target_seconds, "s"))
    return GoalTarget(measure=measure, detail_codeable_concept=_achieved(site))


def _achieved(site: Site) -> CodeableConcept:
    return site.concept("outcome", Outcome.ACHIEVED.value, sentence(Outcome.ACHIEVED.value))


def _title(site: Site, stage: str) -> str:
    known = site.book.stages.get(stage)
    return known.title if known else sentence(stage)
