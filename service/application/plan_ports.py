"""What is said to the record when the plan that stands is changed?"""

from datetime import datetime

from msgspec import Struct

from service.domain.record import Overruled, Principal


class Overruling(Struct, frozen=True):
    """A clinician's choice for a move of the plan that stands. ``expected_version``: of the plan,
    as If-Match named it."""

    principal: Principal
    request_id: str
    plan: str
    expected_version: int
    choice: Overruled


class Ending(Struct, frozen=True):
    """What ended a plan before its time, and when it happened where that was said."""

    principal: Principal
    request_id: str
    plan: str
    expected_version: int | None
    reason: str
    happened_at: datetime | None = None
