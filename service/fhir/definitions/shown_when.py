"""When is a question of the form shown?

A question is hidden where any answer to it would be refused: after the stop rule, or where it
only belongs to another answer. FHIR counts a hidden question as not answered, so a chain of
stages stays hidden from the first that ended the standing part.
"""

from collections.abc import Mapping

from msgspec import Struct

from service.domain.orders import Limb, WeightBearingOrder
from service.domain.stages import Help, Outcome, Stage
from service.domain.stop_rule import REACHED, STANDING
from service.fhir.own_screen_codes import AVAILABILITY

SIDES = ("left", "right")
_TRIED = (Outcome.NOT_ACHIEVED, *REACHED)
_NOT_ATTEMPTED = Outcome.NOT_ATTEMPTED


class Seen(Struct, frozen=True):
    """``answer``: a code that the question was answered with; True or False: whether it was
    answered at all."""

    question: str
    answer: str | bool


Shown = tuple[Seen, ...]
"""The question is shown when at least one of these holds."""


def shown_when() -> Mapping[str, Shown]:
    """By link id. What is not named is always shown."""
    return {**_stop_rule(), **_help_given(), **_belonging()}


def _stop_rule() -> dict[str, Shown]:
    """A later stage is open while the one before was reached on a side, or not tried on both.

    The second half needs both sides, so the group asks for one of them and each side in it for
    the other.
    """
    risen = tuple(Seen(_outcome(Stage.RISE), code.value) for code in REACHED)
    first, *later = STANDING[1:]
    shown: dict[str, Shown] = {_link(first): risen, _link(Stage.TIMED_STAND): risen}
    for before, stage in zip(STANDING[1:], later, strict=False):
        left, right = (_outcome(before, side) for side in SIDES)
        reached = tuple(Seen(side, code.value) for side in (left, right) for code in REACHED)
        shown[_link(stage)] = (*reached, Seen(left, _NOT_ATTEMPTED.value))
        for side in SIDES:
            shown[f"{_link(stage)}.{side}"] = (*reached, Seen(right, _NOT_ATTEMPTED.value))
    return shown


def _help_given() -> dict[str, Shown]:
    shown: dict[str, Shown] = {}
    for place in _attempts():
        outcome, help_given = f"{place}.outcome", f"{place}.help"
        shown[help_given] = (Seen(outcome, Outcome.ACHIEVED_WITH_HELP.value),)
        for name in ("lift_kg", "lift_percent"):
            shown[f"{place}.{name}"] = (Seen(help_given, Help.LIFTING.value),)
    for stage, name in ((Stage.SITTING_BALANCE, "seconds"), (Stage.RISE, "hands_used")):
        shown[f"{_link(stage)}.{name}"] = tuple(
            Seen(_outcome(stage), code.value) for code in _TRIED
        )
    return shown


def _belonging() -> dict[str, Shown]:
    """What belongs to another answer and is refused without it."""
    shown: dict[str, Shown] = {
        "orders.prosthesis_worn": tuple(
            Seen("orders.precautions", f"amputation_{limb.value}") for limb in Limb
        ),
        "patient.age_years": (Seen("patient.birth_date", answer=False),),
        "context.devices.listed": (Seen("context.devices", AVAILABILITY[-1]),),
        "stages.timed_stand.ended_by": (Seen("stages.timed_stand.seconds", answer=True),),
    }
    for size in ("mass", "stature"):
        unit = {"mass": "kg", "stature": "cm"}[size]
        measured = Seen(f"patient.{size}_{unit}", answer=True)
        shown[f"patient.{size}_measured_at"] = (measured,)
    for limb in Limb:
        place = f"orders.weight_bearing.{limb.value}"
        partial = Seen(f"{place}.order", WeightBearingOrder.PWB.value)
        shown[f"{place}.percent"] = (partial,)
    return shown


def _attempts() -> list[str]:
    """Where an outcome with help is recorded."""
    once = (Stage.SITTING_BALANCE, Stage.FORWARD_LEAN, Stage.RISE)
    by_side = (Stage.ARM_PULL, *STANDING[1:])
    return [
        *[_link(stage) for stage in once],
        *[f"{_link(stage)}.{side}" for stage in by_side for side in SIDES],
    ]


def _link(stage: Stage) -> str:
    return f"stages.{stage.value}"


def _outcome(stage: Stage, side: str = "") -> str:
    return f"{_link(stage)}.{side}.outcome" if side else f"{_link(stage)}.outcome"


REQUIRED_WHEN_SHOWN = frozenset(
    {
        *(f"{place}.help" for place in _attempts()),
        *(f"orders.weight_bearing.{limb.value}.percent" for limb in Limb),
    }
)
"""What a screen is refused without, once it is asked."""
