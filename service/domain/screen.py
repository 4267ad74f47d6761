"""What does one bedside mobility screen record? The closed list of fields."""

from typing import Annotated

from msgspec import Meta, Struct

from service.domain.context import Context, Setting
from service.domain.measured_tests import MeasuredTests
from service.domain.orders import Orders
from service.domain.readiness import Readiness
from service.domain.stages import SignSeen, Stages
from service.domain.subject import Subject
from service.domain.value import Identifier, Instant, ShortWord, Word


class Assessor(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Who screened."""

    identifier: Identifier
    role: ShortWord | None = None


class Screen(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A bedside mobility screen as it is posted. SI units, the unit in each name.

    ``source_id`` is the sender's own id of this screen, unique in the organisation. A screen
    that does not say its ``setting`` has the one that the organisation set, else acute.
    """

    patient: Subject
    observed_at: Instant
    orders: Orders
    readiness: Readiness
    stages: Stages
    assessor: Assessor | None = None
    encounter: Identifier | None = None
    location: Word | None = None
    setting: Setting = Setting.ACUTE
    signs: Annotated[list[SignSeen], Meta(max_length=72)] = []
    tests: MeasuredTests = MeasuredTests()
    context: Context = Context()
    source_id: Word | None = None
