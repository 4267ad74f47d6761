"""Does each version of a plan say how it stood then?"""

from datetime import UTC, datetime, timedelta

import pytest
from msgspec.structs import replace

from service.application.plan_history import plan_versions
from service.application.ports import KeptPlan
from service.domain.plan import PlanState
from service.domain.record import PlanEvent, PlanEventKind
from tests.application.made import House

NOW = datetime(2026, 3, 4, 12, tzinfo=UTC)
CREATED, SUPERSEDED, RESTORED, LAPSED, WITHDRAWN = (
    PlanEventKind.CREATED,
    PlanEventKind.SUPERSEDED,
    PlanEventKind.RESTORED,
    PlanEventKind.LAPSED,
    PlanEventKind.WITHDRAWN,
)


@pytest.mark.parametrize(
    ("kinds", "is_current", "states"),
    [
        ([CREATED], True, ["current"]),
        ([CREATED, SUPERSEDED], False, ["current", "superseded"]),
        ([CREATED, LAPSED], True, ["current", "lapsed"]),
        (
            [CREATED, SUPERSEDED, RESTORED],
            True,
            ["current", "superseded", "current"],
        ),
        (
            [CREATED, LAPSED, SUPERSEDED, RESTORED, WITHDRAWN],
            False,
            ["current", "lapsed", "superseded", "lapsed", "withdrawn"],
        ),
        ([CREATED, WITHDRAWN, SUPERSEDED], False, ["current", "withdrawn", "withdrawn"]),
    ],
)
async def test_the_state_after_each_event_follows_from_the_events_up_to_it(
    house: House, kinds: list[PlanEventKind], *, is_current: bool, states: list[str]
) -> None:
    plan = replace((await house.recorded()).plan, valid_until=NOW + timedelta(hours=1))
    events = tuple(
        PlanEvent(plan.id, number, kind, NOW, "ward") for number, kind in enumerate(kinds, 1)
    )
    found = plan_versions(KeptPlan(plan, events, is_current), NOW)
    assert [one.plan.state.value for one in found][::-1] == states
    assert [one.plan.version for one in found] == list(range(len(kinds), 0, -1))
    assert all(one.events == events[: one.plan.version] for one in found)


async def test_a_lapse_nobody_wrote_down_yet_is_a_version_of_its_own(house: House) -> None:
    plan = (await house.recorded()).plan
    events = (PlanEvent(plan.id, 1, CREATED, NOW, "ward"),)
    newest, before = plan_versions(KeptPlan(plan, events, is_current=True), plan.valid_until)
    assert (newest.plan.state, newest.plan.version) == (PlanState.LAPSED, 2)
    assert (before.plan.state, before.plan.version) == (PlanState.CURRENT, 1)
