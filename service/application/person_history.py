"""As whom was a person known, after each thing that told of them?

Each screen version tells of the person anew. One that was entered in error tells nothing any
more: the person is then as the last one before it told. Being joined with another record is a
change as well. Every identifier that a person was ever known by stays with them, for they are
found by it: a newer screen may name only one of several.
"""

from collections.abc import Iterable
from datetime import datetime

from msgspec import Struct

from service.application.ports import Family
from service.application.search_ports import Told
from service.application.service import Call, Service
from service.domain.record import ScreenRecord, ScreenStatus
from service.domain.value import Identifier

_MOST_TOLD = 2000
"""How many screen versions of one patient are looked at for what was told of the person."""


class Turn(Struct, frozen=True):
    """After ``at`` the person was known as the screen version ``source`` told. ``last``: the one
    that was recorded last by then."""

    version: str
    at: datetime
    source: Told
    family: Family
    last: Told


class Row(Struct, frozen=True):
    """What a screen version told, and since when it counts for the patient in question."""

    since: datetime
    told: Told


class KnownBy(Struct, frozen=True):
    """An identifier that the newest screen does not name. ``is_old``: the newest screen that
    stands and names one of the same issuer names another."""

    identifier: Identifier
    is_old: bool = False


class Person(Struct, frozen=True):
    """A turn, the screen version that is its source, and by what else the person is known."""

    turn: Turn
    record: ScreenRecord
    known_by: tuple[KnownBy, ...] = ()


async def persons_of(service: Service, call: Call, family: Family, most: int) -> tuple[Person, ...]:
    """The patient of ``family`` after each change, the newest ``most``, newest first; none where
    no screen told of the patient."""
    told = await _told_of(service, call, family.patient)
    return await _persons(service, call, told, family, turns_of(told, family)[:most])


async def person_of(
    service: Service, call: Call, record: ScreenRecord, family: Family
) -> Person | None:
    """The patient of a screen version as known after it; None where it is the version itself
    that tells all there is."""
    told = await _told_of(service, call, family.patient)
    asked = (record.id, record.version)
    turns = [one for one in turns_of(told, family) if (one.last.screen, one.last.version) == asked]
    if turns and record.status != ScreenStatus.WITHDRAWN and not _is_joined(family):
        more = known_by([Row(one.at, one) for one in told], turns[0])
        return Person(turns[0], record, more) if more else None
    return next(iter(await _persons(service, call, told, family, turns[:1])), None)


def turns_of(told: Iterable[Told], family: Family) -> tuple[Turn, ...]:
    """Newest first. ``told``: newest first too."""
    rows = list(told)[::-1]
    changes: list[tuple[datetime, Told | None]] = [(row.at, row) for row in rows]
    changes += [(joined.at, None) for joined in family.replaces]
    if family.replaced_at is not None:
        changes.append((family.replaced_at, None))
    turns: list[Turn] = []
    standing: dict[str, Told] = {}
    last: Told | None = None
    for at, row in sorted(changes, key=lambda change: change[0]):
        if row is not None:
            last = row
            standing.pop(row.screen, None)
            if row.status != ScreenStatus.WITHDRAWN:
                standing[row.screen] = row
        if last is not None:
            source = next(reversed(standing.values()), last)
            turn = _turn(last, at, source, _family_at(family, at))
            if turns and turns[-1].version == turn.version:
                turns.pop()
            turns.append(turn)
    return tuple(turns[::-1])


async def _persons(
    service: Service,
    call: Call,
    told: tuple[Told, ...],
    family: Family,
    turns: Iterable[Turn],
) -> tuple[Person, ...]:
    rows = await _rows_of(service, call, told, family)
    found = []
    for turn in turns:
        record = await _source(service, call, turn)
        if record is not None:
            found.append(Person(turn, record, known_by(rows, turn)))
    return tuple(found)


def _turn(last: Told, at: datetime, source: Told, family: Family) -> Turn:
    joined = len(family.replaces) + (family.replaced_by is not None)
    version = f"{last.screen}.{last.version}" + (f".{joined}" if joined else "")
    return Turn(version, at, source, family, last)


def _family_at(family: Family, at: datetime) -> Family:
    gone = family.replaced_at is not None and family.replaced_at <= at
    return Family(
        family.patient,
        tuple(joined for joined in family.replaces if joined.at <= at),
        family.replaced_by if gone else None,
        family.replaced_at if gone else None,
    )


def _is_joined(family: Family) -> bool:
    return bool(family.replaces) or family.replaced_by is not None


async def _told_of(service: Service, call: Call, patient: str) -> tuple[Told, ...]:
    return await service.searches.told_of(call.principal.org, patient, _MOST_TOLD)


async def _source(service: Service, call: Call, turn: Turn) -> ScreenRecord | None:
    source = turn.source
    return await service.searches.record_of(call.principal.org, source.screen, source.version)


async def _rows_of(
    service: Service, call: Call, told: tuple[Told, ...], family: Family
) -> tuple[Row, ...]:
    """What told of the patient, and of each record that was joined, since when it counts here."""
    rows = [Row(one.at, one) for one in told]
    for joined in family.replaces:
        theirs = await _told_of(service, call, joined.patient)
        before = await service.records.family(call.principal.org, joined.patient)
        found = await _rows_of(service, call, theirs, before or Family(joined.patient))
        rows += [Row(max(joined.at, row.since), row.told) for row in found]
    return tuple(rows)


def known_by(rows: Iterable[Row], turn: Turn) -> tuple[KnownBy, ...]:
    """By what else than the source of ``turn`` says the person was known then, in the order in
    which it was told. ``rows``: the patient's own first, each newest first."""
    told = [row.told for row in rows if row.since <= turn.at][::-1]
    newest: dict[str, int] = {}
    for one in told:
        newest[one.screen] = max(one.version, newest.get(one.screen, 0))
    holds: dict[str, set[str]] = {}
    for one in told:
        if one.version == newest[one.screen] and one.status != ScreenStatus.WITHDRAWN:
            holds |= _by_issuer(one.identifiers)
    said = _by_issuer(turn.source.identifiers)
    ever = {
        (identifier.system, identifier.value): identifier
        for one in sorted(told, key=lambda one: (one.at, one.screen, one.version))
        for identifier in one.identifiers
    }
    return tuple(
        [
            KnownBy(identifier, is_old=value not in holds.get(system, ()))
            for (system, value), identifier in ever.items()
            if value not in said.get(system, ())
        ]
    )


def _by_issuer(identifiers: Iterable[Identifier]) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for one in identifiers:
        found.setdefault(one.system, set()).add(one.value)
    return found
