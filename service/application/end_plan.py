"""How is a plan ended before its time, when something happened to the person?"""

from service.application.answer import plan_now
from service.application.overrule_plan import kept_plan
from service.application.plan_ports import Ending
from service.application.service import Call, Service
from service.domain.plan import Plan
from service.domain.problem import Fault, Refused


async def end_plan(
    service: Service,
    call: Call,
    plan_id: str,
    expected_version: int | None,
    trigger: str,
    note: str | None = None,
) -> Plan:
    """The plan, lapsed by ``trigger``, which is one of those that it names itself; one that had
    lapsed before stays as it is.

    Raises NotFound, Refused, StaleVersion, Conflict where another plan stands.
    """
    kept = await kept_plan(service, call, plan_id, "plan.lapse")
    named = {said.rule.rpartition(".")[2]: said.text for said in kept.plan.rescreen_when}
    if trigger not in named:
        fault = Fault("/trigger", "lapse.trigger", f"No such trigger: one of {', '.join(named)}.")
        raise Refused("The plan cannot be ended like that.", (fault,))
    reason = " ".join([text for text in (named[trigger], note) if text])
    said = Ending(call.principal, call.request_id, plan_id, expected_version, reason)
    return plan_now(await service.records.end(said), service.clock())
