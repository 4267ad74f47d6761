"""Where was the person to be moved, with whom and with what at hand?"""

from decimal import Decimal
from enum import StrEnum
from typing import Annotated, Literal

from msgspec import Meta, Struct

from service.domain.move import Move
from service.domain.value import ShortWord, Word, bounded


class Setting(StrEnum):
    ACUTE = "acute"
    REHABILITATION = "rehabilitation"
    LONG_TERM_CARE = "long_term_care"
    HOME = "home"


class DeviceStatus(StrEnum):
    READY = "ready"
    OVERDUE = "overdue"
    DEFECTIVE = "defective"
    QUARANTINED = "quarantined"


class DeviceAtHand(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A device that can be fetched. ``device_class`` is an id of the rule book's device classes.

    Without a safe working load it is not known to carry the person and is not chosen.
    """

    device_class: ShortWord
    safe_working_load_kg: (
        Annotated[Decimal, bounded("20", "1000", "Safe working load, kg")] | None
    ) = None
    status: DeviceStatus = DeviceStatus.READY
    label: Word | None = None


class Chair(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    reclines: bool | None = None
    armrests_removable: bool | None = None
    seat_height_cm: Annotated[Decimal, bounded("10", "120", "Seat height, cm")] | None = None
    outer_width_cm: Annotated[Decimal, bounded("20", "200", "Outer width, cm")] | None = None


class Bed(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    height_adjustable: bool | None = None
    clearance_under_cm: Annotated[Decimal, bounded("0", "120", "Space under it, cm")] | None = None


class Stretcher(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    lowers_to_seat_height: bool | None = None


class FloorInjury(StrEnum):
    MORE_THAN_MINOR = "more_than_minor"
    MINOR = "minor"
    NONE = "none"


class OnTheFloor(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The person lies on the floor. Injury not stated counts as more than minor."""

    injury: FloorInjury | None = None
    gets_up_alone: bool | None = None


class FloorSurface(StrEnum):
    VINYL = "vinyl"
    CARPET = "carpet"
    OTHER = "other"


class WalkingAid(StrEnum):
    """The person's own walking aid, in daily use before this screen."""

    NOT_USED = "not_used"
    AT_HAND = "at_hand"
    NOT_HERE = "not_here"


class Context(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The place and the means. ``moves`` null: every move that applies. ``trained_helpers``
    null and ``devices`` "any": not limited, the plan then says what must be found."""

    moves: Annotated[list[Move], Meta(min_length=1, max_length=16)] | None = None
    trained_helpers: Annotated[int, Meta(ge=0, le=50)] | None = None
    devices: Literal["any"] | Annotated[list[DeviceAtHand], Meta(max_length=100)] = "any"
    walking_aid: WalkingAid = WalkingAid.NOT_USED
    chair: Chair = Chair()
    bed: Bed = Bed()
    stretcher: Stretcher = Stretcher()
    on_the_floor: OnTheFloor | None = None
    floor_surface: FloorSurface | None = None
