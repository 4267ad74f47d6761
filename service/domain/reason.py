"""Why was a method chosen, or ruled out?"""

from decimal import Decimal
from enum import StrEnum

from msgspec import Struct

from service.domain.citation import Standing


class Status(StrEnum):
    """met · unmet: seen and not enough · unknown: never seen · forbidden: a condition stands
    against it · missing: a helper or device is not there."""

    MET = "met"
    UNMET = "unmet"
    UNKNOWN = "unknown"
    FORBIDDEN = "forbidden"
    MISSING = "missing"


class Reason(Struct, frozen=True):
    """One rule held against one person: ``about`` names the axis, number, condition or means."""

    rule: str
    about: str
    seen: str
    required: str
    status: Status
    why: str
    source: str
    standing: Standing


class HelperLoad(Struct, frozen=True):
    """What one helper would hold up, against what one may.

    ``what``: body or leg. ``kg`` null: not known, so not within. ``helpers_by_load``: how many
    the load alone would ask for; two or more mean equipment, not more hands. ``lowered_by``:
    what makes the limit lower still.
    """

    what: str
    kg: Decimal | None
    limit_kg: Decimal
    within: bool
    helpers_by_load: int | None
    lowered_by: str
    source: str
    standing: Standing


class RuledOut(Struct, frozen=True):
    """A method not chosen and all that stood against it. ``loads``: where it rests on what a
    helper holds up."""

    method: str
    reasons: tuple[Reason, ...]
    loads: tuple[HelperLoad, ...] = ()


class Change(Struct, frozen=True):
    """One change that would have to come about."""

    about: str
    seen: str
    required: str


class AskNext(Struct, frozen=True):
    """The one thing not known whose answer could change the choice most: where it is recorded
    (JSON Pointer), what to ask or test, and the method that a good answer would open."""

    path: str
    text: str
    opens: str


class WouldOpen(Struct, frozen=True):
    """The fewest changes that would open the next more active method."""

    method: str
    changes: tuple[Change, ...]
