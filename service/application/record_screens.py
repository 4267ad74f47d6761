"""How are several screens recorded, corrected and withdrawn together, all of them or none?"""

import asyncio
from collections.abc import Sequence

from msgspec import Struct

from service.application.answer import answer_now
from service.application.assess import assess
from service.application.correct_screen import correction_of
from service.application.ports import NewScreen, Once, Undone, Withdrawal, Write
from service.application.record_screen import Recorded
from service.application.service import Call, Service
from service.domain.problem import Problem
from service.domain.screen import Screen


class Recording(Struct, frozen=True):
    """A new screen."""

    content: Screen
    once: Once | None = None


class Correcting(Struct, frozen=True):
    """A screen as it should have been."""

    screen_id: str
    expected_version: int
    reason: str
    content: Screen


class Withdrawing(Struct, frozen=True):
    """A screen entered in error."""

    screen_id: str
    expected_version: int | None
    reason: str


Change = Recording | Correcting | Withdrawing


async def record_screens(
    service: Service, call: Call, changes: Sequence[Change]
) -> tuple[Recorded, ...]:
    """Do every change in one transaction; the answers come in the order of ``changes``.

    Each screen is assessed by itself: a score is compared with what was kept before, not with
    another screen of the same transaction. Raises Undone with every problem found, Unavailable.
    """
    writes: list[Write] = []
    problems: dict[int, Problem] = {}
    for index, change in enumerate(changes):
        await asyncio.sleep(0)  # others are answered in between
        try:
            writes.append(await _write_of(service, call, change))
        except Problem as problem:
            problems[index] = problem
    if problems:
        raise Undone(problems)
    kept = await service.records.keep_all(tuple(writes))
    now = service.clock()
    return tuple([Recorded(answer_now(each, now), each.replayed) for each in kept])


async def _write_of(service: Service, call: Call, change: Change) -> Write:
    by, request = call.principal, call.request_id
    if isinstance(change, Withdrawing):
        return Withdrawal(by, request, change.screen_id, change.expected_version, change.reason)
    if isinstance(change, Correcting):
        return await correction_of(
            service,
            call,
            change.screen_id,
            change.expected_version,
            change.reason,
            change.content,
        )
    screen_id = service.new_id()
    assessment = await assess(service, call, change.content, screen_id, version=1)
    return NewScreen(by, request, screen_id, change.content, assessment, change.once)
