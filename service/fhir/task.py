"""By when is the person to be screened again, and has it been done?"""

from service.application.ports import Standing
from service.domain.plan import PlanState
from service.domain.record import PlanEvent
from service.fhir.kinds import TASK_RESCREEN
from service.fhir.narrative import bullets, narrative, safe
from service.fhir.site import Site
from service.fhir.standing_resources import Restriction, Task, TaskOutput
from service.fhir.structs import CodeableConcept, Period, Reference
from service.fhir.text import clock_time, tidy
from service.fhir.whole import Whole, whole_of

_BY_STATE = {
    PlanState.CURRENT: "requested",
    PlanState.LAPSED: "requested",
    PlanState.SUPERSEDED: "cancelled",
    PlanState.WITHDRAWN: "entered-in-error",
}
_WHY = {
    PlanState.LAPSED: "The plan ran out: the screen is overdue.",
    PlanState.SUPERSEDED: "The patient's record was joined to another one.",
    PlanState.WITHDRAWN: "The screen was entered in error.",
}
_DONE = "The next screen was made."


def tasks_of(site: Site, standing: Standing) -> tuple[Task, ...]:
    """The one Task: to screen again. It is planned, not ordered."""
    return tasks(whole_of(site, standing))


def tasks(whole: Whole) -> tuple[Task, ...]:
    site, standing = whole.site, whole.standing
    plan, record = standing.plan.plan, standing.screen
    status, why = _status(whole)
    ended = whole.ended
    by = plan.rescreen_due if ended is None else max(plan.valid_from, ended.told_at)
    clock = clock_time(by, record.content.observed_at)
    due = f"Screen again {f'by {clock}' if ended is None else f'now: due since {clock}'}."
    triggers = [one.text for one in plan.rescreen_when]
    told = f"<p>{due} Status: {status}.{f' {safe(why)}' if why else ''}</p>"
    task = Task(
        id=whole.id_of(TASK_RESCREEN),
        meta=whole.meta("task"),
        text=narrative(told + bullets("Screen again at once", triggers)),
        identifier=whole.identifier(TASK_RESCREEN),
        status=status,
        status_reason=None if why is None else CodeableConcept(text=why),
        intent="plan",
        priority="urgent" if whole.state == PlanState.LAPSED else "routine",
        code=site.concept("task", "rescreen", "Screen again"),
        description=due,
        focus=Reference(reference=f"CarePlan/{plan.id}"),
        for_=whole.subject,
        encounter=whole.encounter,
        authored_on=record.recorded_at,
        last_modified=max(standing.at, record.recorded_at),
        requester=whole.software,
        reason_code=_reason(triggers),
        restriction=Restriction(Period(plan.valid_from, by)),
        output=_output(site, standing),
    )
    return (task,)


def _status(whole: Whole) -> tuple[str, str | None]:
    if whole.standing.followed_by is not None:
        return "completed", _DONE
    why = _WHY.get(whole.state) if whole.ended is None else _early(whole.ended)
    return _BY_STATE[whole.state], why


def _early(ended: PlanEvent) -> str:
    return tidy(f"The plan was ended early. {ended.reason or ''}")


def _reason(triggers: list[str]) -> CodeableConcept | None:
    """What asks for a screen before its time."""
    told = " ".join(triggers)
    return CodeableConcept(text=tidy(f"At once after: {told}")) if told else None


def _output(site: Site, standing: Standing) -> tuple[TaskOutput, ...]:
    if standing.followed_by is None:
        return ()
    kind = site.concept("task_output", "screen", "The screen that was made")
    made = Reference(reference=f"QuestionnaireResponse/{standing.followed_by}")
    return (TaskOutput(type=kind, value_reference=made),)
