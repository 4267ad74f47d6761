"""How does a kept screen become the answer a caller reads at this moment?"""

from datetime import datetime

from service.application.ports import KeptPlan, KeptScreen
from service.domain.lifecycle import as_of
from service.domain.plan import Plan
from service.domain.record import Answer


def plan_now(kept: KeptPlan, now: datetime) -> Plan:
    """The plan in the state it has at ``now``."""
    return as_of(kept.plan, kept.events, is_current=kept.is_current, now=now)


def answer_now(kept: KeptScreen, now: datetime) -> Answer:
    """The whole answer, its plan in the state it has at ``now``."""
    plan = plan_now(kept.plan, now)
    return Answer(kept.record, kept.profile, kept.tests, plan, plan.rule_book)
