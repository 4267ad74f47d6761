"""How does a clinician choose otherwise for a move of the plan that stands?"""

from service.application.answer import plan_now
from service.application.plan_ports import Overruling
from service.application.read_plan import kept_plan, screen_behind
from service.application.service import Call, Service
from service.domain.overruling import Decision
from service.domain.plan import Plan
from service.domain.problem import Fault, Refused, StaleVersion
from service.rules.book import RuleBook
from service.rules.overrule import methods_for, overrule


async def overrule_plan(
    service: Service, call: Call, plan_id: str, expected_version: int, decision: Decision
) -> Plan:
    """The plan with the choice in the place of what was computed, which is kept beside it.

    Raises NotFound, Refused, StaleVersion, Conflict where the plan no longer holds.
    """
    kept = await kept_plan(service, call, plan_id, "plan.overrule")
    plan = plan_now(kept, service.clock())
    faults = tuple(_faults(service.book, plan, decision))
    if faults and plan.version != expected_version:
        raise StaleVersion(f"The plan has version {plan.version}: read it again.")
    if faults:
        raise Refused("The plan cannot be overruled like that.", faults)
    screen = await screen_behind(service, call, plan)
    choice = overrule(service.book, screen.record.content, screen.profile, kept.plan, decision)
    said = Overruling(call.principal, call.request_id, plan_id, expected_version, choice)
    return plan_now(await service.records.overrule(said), service.clock())


def _faults(book: RuleBook, plan: Plan, decision: Decision) -> list[Fault]:
    now = next((one for one in plan.moves if one.move == decision.move), None)
    if now is None:
        text = "This plan does not answer for that move: screen again and ask for it."
        return [Fault("/move", "overrule.move", text)]
    if decision.method == now.method:
        return [Fault("/method", "overrule.same", "The plan says this method already.")]
    computed = now.overrule.computed if now.overrule else now
    serve = methods_for(book, decision.move)
    if decision.method not in (computed.method, *serve):
        text = f"No such method for this move: one of {', '.join(serve)}."
        return [Fault("/method", "overrule.method", text)]
    return []
