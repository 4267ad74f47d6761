"""Who calls, at what time, and with which screens, in the tests of the use cases?"""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from service.application.record_screen import record_screen
from service.application.service import Call, Service
from service.domain.measured_tests import MeasuredTests, TimedUpAndGo
from service.domain.record import Answer, PlanEventKind, Principal
from service.domain.screen import Screen
from service.domain.value import Identifier
from service.rules.load import load_book
from tests.application.fake_records import FakeRecords
from tests.application.fake_searches import FakeSearches
from tests.rules.screens import PATIENT, SCREEN, screen

MORNING = datetime(2026, 3, 4, 9, 10, tzinfo=UTC)
NOWHERE = "00000000-0000-7000-8000-ffffffffffff"
REQUEST = "request-1"
WARD = Principal("org-1", "cred-1", "ward system")
STRANGER = Principal("org-2", "cred-2", "another house")


class SteppingClock:
    """A clock that stands still until it is set."""

    def __init__(self) -> None:
        self.now = MORNING

    def __call__(self) -> datetime:
        return self.now


class CountedIds:
    """Ids of the right length, each greater than the one before."""

    def __init__(self) -> None:
        self._last = 0

    def __call__(self) -> str:
        self._last += 1
        return f"00000000-0000-7000-8000-{self._last:012d}"


class House(Struct):
    """The use cases over a record in memory, and a caller."""

    service: Service
    records: FakeRecords
    clock: SteppingClock
    call: Call = Call(WARD, REQUEST)
    stranger: Call = Call(STRANGER, "request-2")

    async def recorded(self, content: Screen = SCREEN) -> Answer:
        return (await record_screen(self.service, self.call, content, None)).answer

    def told(self) -> list[tuple[str, str, str | None, str | None]]:
        """The audit trail: action, outcome, patient, target."""
        return [
            (entry.action, entry.outcome, entry.patient, entry.target)
            for entry in self.records.entries
        ]

    def told_last(self) -> tuple[str, str, str | None, str | None]:
        return self.told()[-1]

    def events(self, plan: str) -> list[PlanEventKind]:
        return [event.kind for event in self.records.events[WARD.org, plan]]

    def kept_nothing(self) -> bool:
        held = self.records
        return not (held.screens or held.plans or held.events or held.patients)


def open_house() -> House:
    clock, new_id = SteppingClock(), CountedIds()
    records = FakeRecords(clock, new_id)
    return House(
        Service(load_book(), records, clock, new_id, FakeSearches(records)), records, clock
    )


def later(minutes: int, **changes: Any) -> Screen:
    """The able adult, observed some minutes after the first screen; before it where negative."""
    return screen(observed_at=SCREEN.observed_at + timedelta(minutes=minutes), **changes)


def of(value: str, minutes: int = 0) -> Screen:
    """A screen of the patient who is known as ``value``."""
    known = Identifier(system=PATIENT.identifier.system, value=value)
    return later(minutes, patient=replace(PATIENT, identifier=known))


def walked(seconds: str, minutes: int = 0, **changes: Any) -> Screen:
    """A screen with a timed up and go."""
    tests = MeasuredTests(timed_up_and_go=TimedUpAndGo(seconds=Decimal(seconds)))
    return later(minutes, tests=tests, **changes)
