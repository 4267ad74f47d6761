"""How did what is known of a person change?

Each screen version tells of the person anew. One that was entered in error tells nothing any
more: the person is then as the last one before it told. Being joined with another record is a
change as well.
"""

from collections.abc import Iterable
from datetime import datetime

from msgspec import Struct
from msgspec.structs import replace

from service.application.ports import Family
from service.application.search_ports import Told
from service.domain.record import ScreenRecord, ScreenStatus
from service.fhir.patient import patient_of
from service.fhir.resources import Patient
from service.fhir.site import Site


class Turn(Struct, frozen=True):
    """After ``at`` the person was known as the screen version ``source`` told."""

    version: str
    at: datetime
    source: Told
    family: Family


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


def patient_at(site: Site, turn: Turn, record: ScreenRecord) -> Patient:
    """The Patient of a turn. ``record``: its source."""
    made = patient_of(site, record, turn.family)
    return replace(made, meta=replace(made.meta, version_id=turn.version, last_updated=turn.at))


def _turn(last: Told, at: datetime, source: Told, family: Family) -> Turn:
    joined = len(family.replaces) + (family.replaced_by is not None)
    version = f"{last.screen}.{last.version}" + (f".{joined}" if joined else "")
    return Turn(version, at, source, family)


def _family_at(family: Family, at: datetime) -> Family:
    gone = family.replaced_at is not None and family.replaced_at <= at
    return Family(
        family.patient,
        tuple(joined for joined in family.replaces if joined.at <= at),
        family.replaced_by if gone else None,
        family.replaced_at if gone else None,
    )
