"""Which units of a search stand at the same time, so that its further keys sort them together?"""

from datetime import datetime

from msgspec.structs import replace

from service.domain.problem import Fault, Unreadable
from service.web.fhir.search_ties import Ties
from service.web.fhir.search_walk import Source, Unit

_BEGIN, _END, _ALL = "begin", "end", "all"
MOST_TIED = 200
"""So many units at one time are sorted, at most."""


def tied(source: Source, ties: Ties) -> Source:
    """The same resources, sorted by every key: a unit for each time. Raises Unreadable where too
    many stand at one time."""

    async def take(after: str | None, limit: int) -> tuple[Unit, ...]:
        made: list[Unit] = []
        waiting: list[Unit] = []
        cursor, ended = after, False
        while len(made) < limit and not ended:
            wanted = limit - len(made) + 1
            units = await source(cursor, wanted)
            for unit in units:
                if _is_later(unit, waiting):
                    made.append(_together(waiting, ties))
                    waiting = []
                waiting.append(unit)
                if sum(not one.passed for one in waiting) > MOST_TIED:
                    raise _too_many()
            ended = len(units) < wanted
            cursor = units[-1].cursor if units else cursor
        if ended and waiting:
            made.append(_together(waiting, ties))
        return tuple(made[:limit])

    return take


def sorted_together(source: Source, number: int, ties: Ties) -> Source:
    """All ``number`` units of ``source`` sorted by every key, whatever their times."""

    async def take(after: str | None, _limit: int) -> tuple[Unit, ...]:
        if after == _END:
            return ()
        units = list(await source(None, number))
        if not units:
            return ()
        return (replace(_together(units, ties), begin=_BEGIN, cursor=_END, key=_ALL),)

    return take


def _is_later(unit: Unit, waiting: list[Unit]) -> bool:
    at = _time_of(waiting)
    return unit.at is not None and at is not None and at != unit.at


def _time_of(units: list[Unit]) -> datetime | None:
    """Of the first that has one."""
    return next((one.at for one in units if one.at is not None), None)


def _together(units: list[Unit], ties: Ties) -> Unit:
    at = _time_of(units)
    return Unit(
        begin=units[0].begin,
        cursor=units[-1].cursor,
        key="" if at is None else at.isoformat(),
        tell=lambda: tuple([one for unit in units for one in unit.tell()]),
        at=at,
        tied=tuple(units),
        ties=ties,
    )


def _too_many() -> Unreadable:
    text = f"_sort: more than {MOST_TIED} stand at one time; sort by the first key alone."
    return Unreadable(text, (Fault("/http/_sort", "search.too_costly", text),))
