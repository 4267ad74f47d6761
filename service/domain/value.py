"""Which small value types do the recorded facts share, and what are their limits?

Decimals keep the digits that were sent (72.50 stays 72.50). msgspec has no bounds for
Decimal, so they stand in ``extra`` and :mod:`service.domain.shape` applies them.
"""

from datetime import datetime
from decimal import Decimal
from typing import Annotated, Any

from msgspec import Meta, Struct


def bounded(low: str, high: str, description: str) -> Any:
    """Annotation for a Decimal between ``low`` and ``high`` (both allowed)."""
    return Meta(
        description=description,
        extra={"ge": Decimal(low), "le": Decimal(high)},
        extra_json_schema={"minimum": float(low), "maximum": float(high)},
    )


Word = Annotated[str, Meta(min_length=1, max_length=200)]
ShortWord = Annotated[str, Meta(min_length=1, max_length=80)]
Words = Annotated[str, Meta(min_length=1, max_length=1000)]
Uri = Annotated[str, Meta(min_length=1, max_length=200, pattern=r"^[!-~]+$")]
Instant = Annotated[datetime, Meta(tz=True)]


class Identifier(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A business identifier: who issued it (``system``, a URI) and the value."""

    system: Uri
    value: Word


class Name(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A person's name. Stored and returned, never in logs or URLs."""

    family: Word | None = None
    given: Word | None = None


class Clinician(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Who answers for a decision."""

    identifier: Identifier
    role: ShortWord | None = None
