"""How is a plan ended before its time, when something happened to the person?"""

from datetime import UTC

from service.application.answer import plan_now
from service.application.plan_ports import Ending
from service.application.read_plan import kept_plan
from service.application.service import Call, Service
from service.domain.lifecycle import PlanEnded
from service.domain.plan import Plan
from service.domain.problem import Fault, Refused


async def end_plan(
    service: Service, call: Call, plan_id: str, expected_version: int | None, said: PlanEnded
) -> Plan:
    """The plan, lapsed by a trigger, which is one of those that it names itself; one that had
    lapsed before stays as it is.

    Raises NotFound, Refused, StaleVersion, Conflict where another plan stands.
    """
    kept = await kept_plan(service, call, plan_id, "plan.lapse")
    named = {one.rule.rpartition(".")[2]: one.text for one in kept.plan.rescreen_when}
    faults = []
    if said.trigger not in named:
        text = f"No such trigger: one of {', '.join(named)}."
        faults.append(Fault("/trigger", "lapse.trigger", text))
    if said.happened_at is not None and said.happened_at > service.clock():
        faults.append(Fault("/happened_at", "lapse.happened_at", "Must not be later than now."))
    if faults:
        raise Refused("The plan cannot be ended like that.", tuple(faults))
    reason = " ".join([text for text in (named[said.trigger], said.note) if text])
    happened = None if said.happened_at is None else said.happened_at.astimezone(UTC)
    end = Ending(call.principal, call.request_id, plan_id, expected_version, reason, happened)
    return plan_now(await service.records.end(end), service.clock())
