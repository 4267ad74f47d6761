"""After any order of deeds, does the record say of every plan what a small model says?"""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import timedelta
from random import Random

import pytest
from msgspec.structs import replace

from service.application.plan_ports import Ending, Overruling
from service.application.ports import KeptPlan, Merge, StandingsAsked
from service.domain.lifecycle import as_of
from service.domain.move import Move
from service.domain.plan import Plan, PlannedMove, PlanState
from service.domain.problem import Conflict, StaleVersion
from service.domain.record import Overruled
from service.storage.place import Server
from service.storage.store import open_store
from service.storage.verify import verify_audit
from tests.storage.made import BOOK, HOSPITAL, MORNING, House
from tests.storage.small_model import COMPUTED, Person, Sheet
from tests.storage.test_change_plan import BY

MOVES = (Move.BED_TO_CHAIR, Move.WALK)
CHOSEN = ("sling_lift", "do_not_move")
GROUPS, ROUNDS = 10, 30
DEEDS = ("keep", "keep", "correct", "withdraw", "overrule", "overrule", "back", "end", "merge")


def answer(move: Move, method: str) -> PlannedMove:
    return PlannedMove(
        move, move.value, method, method, method, 1, (), (), None, (), (), (), (), (), (), None, (),
    )  # fmt: skip


def planned(plan: Plan) -> Plan:
    return replace(plan, moves=tuple([answer(move, COMPUTED) for move in MOVES]))


class Game:
    """Deeds of one group of records, each done to the store and to the model."""

    def __init__(self, house: House, drawn: Random, name: str) -> None:
        self.house, self.drawn = house, drawn
        self.people = [Person({f"{name}-{n}"}) for n in range(3)]
        self.sheets: list[Sheet] = []
        self.done = 0
        self.seen: set[PlanState] = set()

    @property
    def minute(self) -> int:
        return int((self.house.clock.now - MORNING) / timedelta(minutes=1))

    async def play(self) -> None:
        deed = self.drawn.choice(DEEDS)
        await getattr(self, deed)(self.drawn.choice(self.people))
        await self.agree()

    def some_minute(self) -> int:
        return self.minute - self.drawn.randrange(0, 240, 10)

    def sheet(self, plan: str, screen: str, observed: int) -> Sheet:
        made = Sheet(plan, screen, observed, {}, [], [])
        self.sheets.append(made)
        return made

    async def keep(self, person: Person) -> None:
        value = self.drawn.choice(sorted(person.values))
        new = self.house.new(value, self.some_minute())
        made = replace(new.assessment, plan=planned(new.assessment.plan))
        new = replace(new, assessment=made)
        await self.house.store.keep(new)
        observed = int((new.content.observed_at - MORNING) / timedelta(minutes=1))
        sheet = self.sheet(made.plan.id, new.screen_id, observed)
        person.kept(new, sheet, self.minute)

    async def correct(self, person: Person) -> None:
        open_ones = [new for new in person.screens if new.screen_id in person.of]
        if not open_ones:
            return
        new, observed = self.drawn.choice(open_ones), self.some_minute()
        said = self.house.correction(new, person.versions[new.screen_id], observed)
        made = replace(said.assessment, plan=planned(said.assessment.plan))
        await self.house.store.correct(replace(said, assessment=made))
        person.corrected(self.sheet(made.plan.id, new.screen_id, observed), self.minute)

    async def withdraw(self, person: Person) -> None:
        if not person.of:
            return
        screen = self.drawn.choice(sorted(person.of))
        await self.house.store.withdraw(self.house.withdrawal(screen, person.versions[screen]))
        person.withdrawn(screen, self.minute)

    async def overrule(self, person: Person) -> None:
        await self._choose(person, self.drawn.choice(CHOSEN))

    async def back(self, person: Person) -> None:
        await self._choose(person, COMPUTED)

    async def _choose(self, person: Person, method: str) -> None:
        sheet, move = person.stands, self.drawn.choice(MOVES)
        if sheet is None:
            return
        self.done += 1
        reason = f"Reason {self.done}."
        back = method == COMPUTED
        choice = Overruled(answer(move, method), reason, BY, BOOK, back=back)
        version = (await self.plan(sheet.id)).version
        if self.drawn.random() < 0.1:
            with pytest.raises((StaleVersion, Conflict)):
                await self.say(sheet, version - 1, choice)
        try:
            await self.say(sheet, version, choice)
        except Conflict:
            assert person.state(sheet, self.minute) == PlanState.LAPSED
            return
        assert person.state(sheet, self.minute) == PlanState.CURRENT
        sheet.choices[move] = (method, reason)
        sheet.answered.append(reason)

    async def say(self, sheet: Sheet, version: int, choice: Overruled) -> KeptPlan:
        by, request = self.house.by, self.house.request()
        return await self.house.store.overrule(Overruling(by, request, sheet.id, version, choice))

    async def end(self, person: Person) -> None:
        sheet = person.stands
        if sheet is None or self.drawn.random() < 0.4:
            return
        if person.state(sheet, self.minute) == PlanState.LAPSED and not sheet.ended:
            return
        if not sheet.ended:
            sheet.ended, person.fell = True, self.minute
        ending = Ending(self.house.by, self.house.request(), sheet.id, None, "A fall.")
        self.seen.add(self.now(await self.house.store.end(ending)).state)

    async def merge(self, person: Person) -> None:
        other = self.drawn.choice(self.people)
        if other is person or not person.versions or not other.versions:
            return
        pair = [await self.patient(one) for one in (person, other)]
        await self.house.store.merge(Merge(self.house.by, self.house.request(), *pair))
        rest = [one for one in self.people if one not in (person, other)]
        self.people = [*rest, person.joined(other, self.minute)]

    async def patient(self, person: Person) -> str:
        known = {one.content.patient.identifier.value for one in person.screens}
        value = self.drawn.choice(sorted(known))
        found = await self.house.store.find_patient(self.house.by.org, HOSPITAL, value)
        assert found is not None
        return found.id

    async def plan(self, plan: str) -> Plan:
        kept = await self.house.store.plan(self.house.by.org, plan)
        assert kept is not None
        return self.now(kept)

    def now(self, kept: KeptPlan) -> Plan:
        return as_of(kept.plan, kept.events, is_current=kept.is_current, now=self.house.clock.now)

    async def agree(self) -> None:
        """Every address of every plan shows what the model has."""
        owners = {s.id: one for one in self.people for s in self.sheets if s.screen in one.versions}
        for sheet in self.sheets:
            await self._agrees(sheet, owners[sheet.id])
        for person in self.people:
            if person.versions:
                await self._stands(person)

    async def _agrees(self, sheet: Sheet, person: Person) -> None:
        kept = await self.house.store.plan(self.house.by.org, sheet.id)
        assert kept is not None
        plan = self.now(kept)
        assert plan.state == person.state(sheet, self.minute)
        self.seen.add(plan.state)
        for move in plan.moves:
            method, reason = sheet.choices.get(move.move, (COMPUTED, ""))
            assert move.method == method
            assert (move.overrule is None) == (method == COMPUTED)
            assert move.overrule is None or move.overrule.reason == reason
        told = [event.overruled.reason for event in kept.events if event.overruled]
        assert told == sheet.answered
        left = [one for event in kept.events for one in event.set_aside]
        assert [(one.move_title, one.method_title, one.reason) for one in left] == sheet.left
        assert [one.rule for one in plan.notices] == ["notice.set_aside"] * len(left)
        assert [event.version for event in kept.events] == list(range(1, len(kept.events) + 1))
        screen = await self.house.store.screen(
            self.house.by.org, sheet.screen, kept.plan.screen_version
        )
        assert screen is not None
        assert screen.plan == kept

    async def _stands(self, person: Person) -> None:
        org, patient = self.house.by.org, await self.patient(person)
        current = await self.house.store.current_plan(org, patient)
        assert (current and current.plan.id) == (person.stands and person.stands.id)
        page = await self.house.store.plans_of(org, patient, 200, None)
        assert {one.plan.id for one in page.items} == {
            sheet.id for sheet in self.sheets if sheet.screen in person.versions
        }
        for kept in page.items:
            assert await self.house.store.plan(org, kept.plan.id) == kept
        (standing,) = await self.house.store.standings(org, patient, StandingsAsked(1, 0))
        if current is not None:
            assert standing.plan == current


@asynccontextmanager
async def houses_of(house: House) -> AsyncIterator[list[House]]:
    """A server's record is written by two at once."""
    if not isinstance(house.path, Server):
        yield [house]
        return
    store = open_store(house.path, house.clock, house.new_id)
    await store.start()
    yield [house, House(store, house.path, house.clock, house.new_id, house.by)]
    await store.close()


async def test_after_any_order_of_deeds_each_plan_says_what_a_small_model_says(
    house: House,
) -> None:
    seeds = Random(31)  # noqa: S311 - the same games in each run
    games = [Game(house, Random(seeds.random()), f"G{n}") for n in range(GROUPS)]  # noqa: S311
    house.clock.go_on(seconds=30)  # nobody is seen in the very moment of a fall
    async with houses_of(house) as houses:
        for _ in range(ROUNDS):
            for game in games:
                game.house = seeds.choice(houses)
            await asyncio.gather(*[game.play() for game in games])
            house.clock.go_on(minutes=seeds.choice((1, 10, 45, 200)))
    sheets = [sheet for game in games for sheet in game.sheets]
    assert set().union(*[game.seen for game in games]) == set(PlanState)
    for many in (sum(len(one.answered) for one in sheets), sum(len(one.left) for one in sheets)):
        assert many > GROUPS
    assert verify_audit(house.path).sound
