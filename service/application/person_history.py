"""As whom was a person known, after each thing that told of them?

Each screen version tells of the person anew. One that was entered in error tells nothing any
more: the person is then as the last one before it told. Being joined with another record is a
change as well, and brings along by which identifiers either record was known by then: a later
screen may name only one of them.
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


class Person(Struct, frozen=True):
    """A turn, the screen version that is its source, and the identifiers by which the records
    that were joined had been known."""

    turn: Turn
    record: ScreenRecord
    joined: tuple[Identifier, ...] = ()


async def persons_of(service: Service, call: Call, family: Family, most: int) -> tuple[Person, ...]:
    """The patient of ``family`` after each change, the newest ``most``, newest first; none where
    no screen told of the patient."""
    told = await _told_of(service, call, family.patient)
    return await _persons(service, call, told, family, turns_of(told, family)[:most])


async def person_of(
    service: Service, call: Call, record: ScreenRecord, family: Family
) -> Person | None:
    """The patient of a screen version as known after it; None where it is the version itself
    that tells, and nobody was joined."""
    if record.status != ScreenStatus.WITHDRAWN and not _is_joined(family):
        return None
    told = await _told_of(service, call, family.patient)
    asked = (record.id, record.version)
    turns = [one for one in turns_of(told, family) if (one.last.screen, one.last.version) == asked]
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
    known = await _known_when_joined(service, call, told, family)
    found = []
    for turn in turns:
        record = await _source(service, call, turn)
        if record is not None:
            found.append(Person(turn, record, _known_by(known, turn.at)))
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


_Known = tuple[tuple[datetime, tuple[Identifier, ...]], ...]


async def _known_when_joined(
    service: Service, call: Call, told: tuple[Told, ...], family: Family
) -> _Known:
    """When each record was joined, and by which identifiers both were known then."""
    found = []
    for joined in family.replaces:
        theirs = await _told_of(service, call, joined.patient)
        ours = await _identifiers_at(service, call, told, joined.at)
        found.append((joined.at, (*ours, *await _identifiers_at(service, call, theirs, joined.at))))
    return tuple(found)


async def _identifiers_at(
    service: Service, call: Call, told: tuple[Told, ...], at: datetime
) -> tuple[Identifier, ...]:
    turns = turns_of([row for row in told if row.at <= at], Family(""))
    record = await _source(service, call, turns[0]) if turns else None
    if record is None:
        return ()
    subject = record.content.patient
    return (subject.identifier, *subject.more_identifiers)


def _known_by(known: _Known, at: datetime) -> tuple[Identifier, ...]:
    told = [one for since, identifiers in known if since <= at for one in identifiers]
    return tuple({(one.system, one.value): one for one in told}.values())
