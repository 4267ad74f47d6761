"""In which order does a search go through the record, and between which times?"""

from datetime import datetime
from typing import Any

from msgspec import Struct

from service.application.search_ports import By, Look, Sieve
from service.application.service import Call
from service.fhir.care_plan import STATUSES
from service.fhir.search_dates import bounds_of, moment_of
from service.fhir.search_query import Query, Test
from service.web.house import House

_CHANGED = "_lastUpdated"
_OBSERVED = ("date", "authored")
_OPEN_BELOW = ("gt", "ge", "ap")
"""A plan that begins long before may still be valid then."""


class Search(Struct, frozen=True, kw_only=True):
    """One search of one caller. ``patients``: those that stay after merges, None for all;
    ``ids``: where the resources themselves are named."""

    house: House
    call: Call
    query: Query
    now: datetime
    patients: tuple[str, ...] | None = None
    ids: tuple[str, ...] | None = None

    def matching(self, resources: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple([one for one in resources if self._matches(one)])

    def _matches(self, resource: Any) -> bool:
        """A Provenance is of a target where it names it."""
        named = all(
            any(tells_of(resource, kind, name) for kind, name in targets)
            for targets in self.query.targets
        )
        return named and self.query.holds(resource, self.now)


def tells_of(provenance: Any, kind: str, name: str) -> bool:
    """Whether a Provenance is of that resource, in whichever version."""
    target = f"{kind}/{name}/"
    return any(str(one.reference).startswith(target) for one in provenance.target)


def look_of(search: Search) -> Look:
    """Without an order: what changed last first where that is asked for, else the newest."""
    query = search.query
    order = query.control.order
    dated = any(test.name in _OBSERVED for test in query.tests)
    changed = any(test.name == _CHANGED for test in query.tests) and not dated
    by = By.CHANGED if changed else By.OBSERVED
    if order is not None:
        by = By.CHANGED if order.name == _CHANGED else By.OBSERVED
    low, high = _bounds(search, by)
    return Look(
        by=by,
        newest_first=order is None or order.newest_first,
        limit=0,
        patients=search.patients,
        low=None if low is None else moment_of(low),
        high=None if high is None else moment_of(high),
        sieve=_sieve(search) if query.kind == "CarePlan" else None,
    )


class _Stated(Struct, frozen=True):
    """What a plan tells of itself before it is read."""

    status: str


def _sieve(search: Search) -> Sieve | None:
    """Which plans the conditions rule out by their state or their end; None where none may be."""
    now, tests = search.now, search.query.tests
    asked = [test for test in tests if test.name == "status"]
    states = frozenset(
        state
        for state, statuses in STATUSES.items()
        if any(all(test.holds(_Stated(one), now) for test in asked) for one in statuses)
    )
    lows = [_first_end(search, test) for test in tests if test.name in _OBSERVED]
    ends = max([low for low in lows if low is not None], default=None)
    if ends is None and len(states) == len(STATUSES):
        return None
    ends_from = None if ends is None else moment_of(ends)
    return Sieve(now=now, states=states, ends_from=ends_from)


def _first_end(search: Search, test: Test) -> int | None:
    """A plan that ends before answers none of the dates."""
    lows = [bounds_of(date, search.now)[0] for date in test.dates]
    return None if None in lows else min(one for one in lows if one is not None)


def _bounds(search: Search, by: By) -> tuple[int | None, int | None]:
    """What is certainly too early or too late need not be looked at."""
    names = (_CHANGED,) if by is By.CHANGED else _OBSERVED
    lows: list[int] = []
    highs: list[int] = []
    for test in search.query.tests:
        if test.name not in names:
            continue
        low, high = _bounds_of(search, test)
        lows += [] if low is None else [low]
        highs += [] if high is None else [high]
    return max(lows, default=None), min(highs, default=None)


def _bounds_of(search: Search, test: Test) -> tuple[int | None, int | None]:
    open_below = search.query.kind == "CarePlan" and test.name != _CHANGED
    bounds = [bounds_of(date, search.now) for date in test.dates]
    lows = [
        None if open_below and date.prefix in _OPEN_BELOW else low
        for date, (low, _) in zip(test.dates, bounds, strict=True)
    ]
    highs = [high for _, high in bounds]
    return (
        None if None in lows else min(one for one in lows if one is not None),
        None if None in highs else max(one for one in highs if one is not None),
    )
