"""Which part of a list is a page, where does the next one begin, and how many are there in all?

What is searched comes in units, such as a screen with all its findings, each in its place in one
order. A mark names the place of the last entry shown, so that entries which come in between are
neither the cause of a loss nor of a repetition.
"""

import asyncio
import base64
import binascii
from collections.abc import Awaitable, Callable
from datetime import datetime
from typing import Any

import msgspec
from msgspec import Struct

from service.web.fhir.search_ties import Ties

FIRST_STEP, LONGEST_STEP = 4, 32
MOST_UNITS = 200
"""Units that a page looks at, at most; it may then be short, and the next link leads on."""
PASSED_LIGHTER = 10
"""So many that are passed over are as much to do as one that is looked at."""
MOST_COUNTED = 2000
"""Units that are counted, at most."""


class Unit(Struct, frozen=True, kw_only=True):
    """``begin`` and ``cursor``: the places just before it and just behind it. ``key``: which it
    is, wherever it stands. ``patient``: whose it is; ``screen``: what its Provenance is of.
    ``tell`` gives the resources that match, or what stands for them where they are only counted.
    ``passed``: nothing was read of it but its place. ``at``: the time of the place, None where
    there is nothing to tell. ``tied``: the units that are sorted together, by ``ties``."""

    begin: str
    cursor: str
    key: str
    tell: Callable[[], tuple[Any, ...]]
    patient: str | None = None
    screen: str | None = None
    is_current: bool = False
    passed: bool = False
    at: datetime | None = None
    tied: tuple["Unit", ...] = ()
    ties: Ties | None = None

    def pairs(self) -> list[tuple["Unit", Any]]:
        """Each resource with the unit that it is of."""
        if self.ties is None:
            return [(self, one) for one in self.tell()]
        place = self.ties.place
        pairs = [(unit, one) for unit in self.tied for one in unit.tell()]
        return sorted(pairs, key=lambda pair: place(pair[1]))

    @property
    def weight(self) -> int:
        """How much it is to look at, in what one takes that is passed over."""
        if self.tied:
            return sum(unit.weight for unit in self.tied)
        return 1 if self.passed else PASSED_LIGHTER


Source = Callable[[str | None, int], Awaitable[tuple[Unit, ...]]]
"""Gives the units after a cursor, as many as asked for; fewer where there are no more."""


class Mark(Struct, frozen=True, array_like=True):
    """Where a page ended: at the place ``cursor``, and inside the unit called ``key`` after the
    resource ``last``: its id, or the word of its place where several keys sort. ``total``: what
    the first page counted."""

    cursor: str | None = None
    key: str = ""
    last: str = ""
    total: int | None = None


class Walked(Struct, frozen=True):
    """``matches``: each with its unit. ``total``: None where it was not counted to the end."""

    matches: tuple[tuple[Unit, Any], ...]
    next: Mark | None
    total: int | None


_MARK = msgspec.json.Decoder(Mark)


def word_of(mark: Mark) -> str:
    return base64.urlsafe_b64encode(msgspec.json.encode(mark)).decode().rstrip("=")


def read_mark(word: str) -> Mark:
    """Raises ValueError where it is none that was handed out."""
    try:
        padded = word.encode("ascii") + b"=" * (-len(word) % 4)
        return _MARK.decode(base64.b64decode(padded, altchars=b"-_", validate=True))
    except (msgspec.MsgspecError, binascii.Error) as error:
        raise ValueError("No mark of ours.") from error


async def walk(
    source: Source,
    mark: Mark,
    count: int,
    *,
    counting: bool,
    weight: int = 1,
    counted: Source | None = None,
) -> Walked:
    """A page of ``count`` entries after ``mark``; ``counting`` goes on to the end, by the source
    ``counted`` once the page is full. ``weight``: for how many units one of these counts."""
    page = _Page(mark, count)
    counting = counting and mark.cursor is None
    budget = (MOST_COUNTED if counting else MOST_UNITS) // weight * PASSED_LIGHTER
    cursor, step, seen = mark.cursor, FIRST_STEP, 0
    while True:
        look = counted if counted is not None and page.full else source
        units = await look(cursor, step)
        for unit in units:
            page.take(unit)
            await asyncio.sleep(0)
            if page.next is not None and not counting:
                break
        ended = len(units) < step
        seen += sum(unit.weight for unit in units)
        if units:
            cursor = units[-1].cursor
        if ended or (page.next is not None and not counting):
            break
        if seen >= budget:
            page.stop(cursor)
            break
        step = min(step * 2, LONGEST_STEP)
    total = page.counted if counting and ended else mark.total
    return page.walked(total)


class _Page:
    """What was found so far."""

    def __init__(self, mark: Mark, count: int) -> None:
        self._mark, self._count = mark, count
        self._matches: list[tuple[Unit, Any]] = []
        self._last = ("", "")
        self.next: Mark | None = None
        self.counted = 0

    @property
    def full(self) -> bool:
        """Whether what follows is counted alone."""
        return self.next is not None or self._count == 0

    def take(self, unit: Unit) -> None:
        left = self._left(unit)
        self.counted += len(left)
        for pair in left:
            if len(self._matches) < self._count:
                self._matches.append(pair)
                self._last = unit.key, _word_in(unit, pair[1])
            elif self.next is None:
                last = self._last[1] if self._last[0] == unit.key else ""
                self.next = Mark(unit.begin, unit.key, last)

    def stop(self, cursor: str | None) -> None:
        """Enough was looked at; what was not seen comes on the next page."""
        if self.next is None:
            self.next = Mark(cursor)

    def walked(self, total: int | None) -> Walked:
        more = self.next
        if more is not None:
            more = Mark(more.cursor, more.key, more.last, total)
        return Walked(tuple(self._matches), more, total)

    def _left(self, unit: Unit) -> list[tuple[Unit, Any]]:
        """What the page before did not show of the unit."""
        pairs, last = unit.pairs(), self._mark.last
        if unit.key != self._mark.key or not last:
            return pairs
        if unit.ties is not None:
            ties, shown = unit.ties, unit.ties.place_of(last)
            return [pair for pair in pairs if shown < ties.place(pair[1])]
        ids = [one.id for _, one in pairs]
        return pairs[ids.index(last) + 1 :] if last in ids else pairs


def _word_in(unit: Unit, resource: Any) -> str:
    """By which a mark names the resource in its unit."""
    return str(resource.id) if unit.ties is None else unit.ties.place(resource).word
