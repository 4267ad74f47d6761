"""What is read from the audit trail, and how is a stretch of it asked for?"""

from collections.abc import Callable
from datetime import datetime
from typing import Protocol

from msgspec import Struct


class Noted(Struct, frozen=True, kw_only=True):
    """An entry as it was written: who did what to whose data, when, and what came of it.

    ``chain`` and ``seq``: its place, which never changes. ``credential`` is empty for a command
    at the keyboard. ``patient`` and ``target`` are opaque ids; there is no value in an entry.
    """

    chain: int
    seq: int
    at: datetime
    action: str
    credential: str = ""
    name: str = ""
    outcome: str = ""
    request_id: str = ""
    patient: str | None = None
    target: str | None = None

    @property
    def id(self) -> str:
        return f"{self.chain}-{self.seq}"


Wanted = Callable[[Noted], bool]
"""Whether an entry is asked for. Called where the record is read, not on the loop."""


class TrailLook(Struct, frozen=True, kw_only=True):
    """One stretch of the trail. ``limit``: how many that are ``wanted``, at most. ``low`` and
    ``high`` bound the time, both included. ``after``: the cursor that the stretch before gave."""

    newest_first: bool
    limit: int
    wanted: Wanted
    low: datetime | None = None
    high: datetime | None = None
    after: str | None = None


class Stretch(Struct, frozen=True):
    """``next``: where the next stretch begins, None at the end of the trail. A stretch may hold
    fewer than asked for, or none, and not be the last."""

    found: tuple[Noted, ...]
    next: str | None


class Trail(Protocol):
    """Reads of the audit trail. Each names the organisation and sees no other."""

    async def trail_stretch(self, org: str, look: TrailLook) -> Stretch: ...
    async def trail_entry(self, org: str, chain: int, seq: int) -> Noted | None: ...
    async def same_patient(self, org: str, patient: str) -> tuple[str, ...]:
        """The ids under which a patient was noted: its own, and of all that were merged with it;
        its own alone where nothing is known of it any more."""
