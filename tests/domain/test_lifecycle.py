"""Is a plan in the right state at every moment?"""

from datetime import datetime, timedelta

import pytest
from msgspec.structs import replace

from service.domain.lifecycle import as_of, ended
from service.domain.plan import PlanState
from service.domain.record import PlanEventKind
from tests.domain.plans import BEGINS, ENDS, PLAN, events

CREATED, SUPERSEDED, LAPSED, WITHDRAWN, RESTORED = (
    PlanEventKind.CREATED,
    PlanEventKind.SUPERSEDED,
    PlanEventKind.LAPSED,
    PlanEventKind.WITHDRAWN,
    PlanEventKind.RESTORED,
)
BEFORE, AFTER = ENDS - timedelta(microseconds=1), ENDS + timedelta(days=1)


@pytest.mark.parametrize(
    ("kinds", "pointed", "now", "state"),
    [
        ((CREATED,), "at it", BEGINS, "current"),
        ((CREATED,), "at it", BEFORE, "current"),
        ((CREATED,), "at it", ENDS, "lapsed"),
        ((CREATED,), "at it", AFTER, "lapsed"),
        ((CREATED, LAPSED), "at it", AFTER, "lapsed"),
        # written down as lapsed is lapsed, whatever a clock that went back says
        ((CREATED, LAPSED), "at it", BEFORE, "lapsed"),
        ((CREATED,), "elsewhere", BEFORE, "superseded"),
        ((CREATED, SUPERSEDED), "elsewhere", BEFORE, "superseded"),
        ((CREATED, SUPERSEDED), "elsewhere", AFTER, "superseded"),
        ((CREATED, LAPSED), "elsewhere", AFTER, "superseded"),
        ((CREATED, SUPERSEDED, RESTORED), "at it", BEFORE, "current"),
        ((CREATED, SUPERSEDED, RESTORED), "at it", ENDS, "lapsed"),
        ((CREATED, WITHDRAWN), "elsewhere", BEFORE, "withdrawn"),
        ((CREATED, WITHDRAWN), "at it", AFTER, "withdrawn"),
        ((CREATED, LAPSED, SUPERSEDED, WITHDRAWN), "elsewhere", AFTER, "withdrawn"),
    ],
)
def test_withdrawn_outranks_superseded_outranks_lapsed(
    kinds: tuple[PlanEventKind, ...], pointed: str, now: datetime, state: str
) -> None:
    told = as_of(PLAN, events(*kinds), is_current=pointed == "at it", now=now)
    lapsing = state == "lapsed" and LAPSED not in kinds
    assert told == replace(PLAN, state=PlanState(state), version=len(kinds) + lapsing)


def test_a_plan_was_ended_only_by_what_has_a_reason() -> None:
    by_the_clock = events(CREATED, LAPSED)
    fell = (*events(CREATED), replace(by_the_clock[1], reason="A fall."))
    assert ended(by_the_clock) is None
    assert ended(fell) == fell[1]
