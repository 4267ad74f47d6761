"""Which plan do the tests of its life start from?"""

from datetime import UTC, datetime, timedelta

from service.domain.plan import Plan, PlanState, RuleBookRef
from service.domain.record import PlanEvent, PlanEventKind

BEGINS = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)
ENDS = BEGINS + timedelta(hours=12)

PLAN = Plan(
    id="plan-1",
    version=1,
    state=PlanState.CURRENT,
    patient_id="patient-1",
    screen_id="screen-1",
    screen_version=1,
    valid_from=BEGINS,
    valid_until=ENDS,
    rescreen_due=ENDS,
    rescreen_when=(),
    goals=(),
    exercise=None,
    conditions=(),
    notices=(),
    moves=(),
    while_lapsed=(),
    rule_book=RuleBookRef("1.0.0", "0" * 64),
)


def events(*kinds: PlanEventKind) -> tuple[PlanEvent, ...]:
    """What happened to the plan, in order, a minute apart."""
    return tuple(
        PlanEvent("plan-1", number, kind, BEGINS + timedelta(minutes=number), "nurse")
        for number, kind in enumerate(kinds, start=1)
    )
