"""Does every order of arrivals, corrections and withdrawals end in the same current plan?"""

import asyncio
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.application.ports import NewScreen
from tests.storage.made import House, open_house

MINUTES = (0, 10, 10, 20)  # two screens of one moment: the id decides


def leading(screens: list[NewScreen], gone: NewScreen) -> str:
    stay = [new for new in screens if new is not gone]
    last = max(stay, key=lambda new: (new.content.observed_at, new.screen_id))
    return last.assessment.plan.id


async def play(house: House, value: str, order: tuple[int, ...], gone: int, after: int) -> None:
    """Four screens of a patient of its own in ``order``, one withdrawn after so many of them."""
    screens = [house.new(value, minute) for minute in MINUTES]
    for step, number in enumerate(order, 1):
        await house.store.keep(screens[number])
        if step == after:
            await house.store.withdraw(house.withdrawal(screens[gone].screen_id))
    assert await house.current(value) == leading(screens, screens[gone]), (order, gone, after)


async def test_every_order_of_four_screens_and_a_withdrawal_ends_in_one_plan(house: House) -> None:
    games = [
        (order, gone, after)
        for order in permutations(range(4))
        for gone in range(4)
        for after in range(order.index(gone) + 1, 5)
    ]
    assert len(games) == 240
    await asyncio.gather(*(play(house, f"H-{n}", *game) for n, game in enumerate(games)))


Step = tuple[str, int, int]
STEPS = st.lists(
    st.tuples(
        st.sampled_from(["keep", "keep", "correct", "withdraw"]),
        st.integers(0, 5),
        st.integers(0, 5),
    ),
    min_size=1,
    max_size=14,
)


async def follow(house: House, value: str, steps: list[Step]) -> None:
    """Any history, held against a model that only remembers where each screen stands."""
    screens: list[NewScreen] = []
    standing: dict[str, tuple[int, str, int]] = {}
    for kind, which, minute in steps:
        if kind == "keep":
            new = house.new(value, minute)
            screens.append(new)
            await house.store.keep(new)
            standing[new.screen_id] = (minute, new.assessment.plan.id, 1)
        elif screens and screens[which % len(screens)].screen_id in standing:
            old = screens[which % len(screens)]
            version = standing[old.screen_id][2]
            if kind == "withdraw":
                await house.store.withdraw(house.withdrawal(old.screen_id, version))
                del standing[old.screen_id]
                continue
            said = house.correction(old, version, minute)
            await house.store.correct(said)
            standing[old.screen_id] = (minute, said.assessment.plan.id, version + 1)
    if not screens:
        return
    ranked = [(place[0], screen, place[1]) for screen, place in standing.items()]
    expected = max(ranked)[2] if ranked else None
    assert await house.current(value) == expected
    await _one_plan_stands(house, value, expected)


async def _one_plan_stands(house: House, value: str, expected: str | None) -> None:
    """The events alone tell the same as the pointer, and count without a gap."""
    patient = await house.store.find_patient(house.by.org, "urn:oid:2.999.7", value)
    assert patient is not None
    page = await house.store.plans_of(house.by.org, patient.id, 100, None)
    for kept in page.items:
        assert [event.version for event in kept.events] == list(range(1, len(kept.events) + 1))
        assert kept.events[0].kind == "created"
        stands = kept.events[-1].kind in {"created", "restored"}
        assert stands == kept.is_current == (kept.plan.id == expected)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(histories=st.lists(STEPS, min_size=1, max_size=8))
def test_any_history_ends_where_the_screens_alone_would(
    tmp_path_factory: pytest.TempPathFactory, histories: list[list[Step]]
) -> None:
    asyncio.run(_play_all(tmp_path_factory.mktemp("any"), histories))


async def _play_all(folder: Path, histories: list[list[Step]]) -> None:
    house = await open_house(folder / "record.db")
    try:
        told = (follow(house, f"H-{n}", steps) for n, steps in enumerate(histories))
        await asyncio.gather(*told)
    finally:
        await house.store.close()
