"""In which ways can one thing in a screen be worse, and who is able enough to lose something?"""

from collections.abc import Iterator
from datetime import UTC, datetime

from hypothesis import strategies as st
from msgspec import convert
from msgspec.structs import replace

from service.domain.orders import (
    Activity,
    LimbOrder,
    LimbOrders,
    Orders,
    Precaution,
    WeightBearingOrder,
)
from service.domain.readiness import Cooperation, Instructions
from service.domain.screen import Screen
from service.domain.stages import Help, Outcome, Sign, SignSeen, Stage

Worse = Iterator[tuple[str, Screen]]


def worse(screen: Screen) -> Worse:
    """The screen, each time with one thing worse: a capability, an order, a precaution, or a
    thing no longer known."""
    yield from _stages(screen)
    yield from _sides(screen)
    yield from _standing(screen)
    yield from _orders(screen)
    yield from _readiness(screen)
    yield from _signs(screen)


def _stages(screen: Screen) -> Worse:
    stages = screen.stages
    for name in ("sitting_balance", "forward_lean", "rise"):
        stage = getattr(stages, name)
        for outcome in (Outcome.NOT_ACHIEVED, Outcome.NOT_ATTEMPTED):
            changed = replace(stage, outcome=outcome, help=None, lift_kg=None)
            yield f"{name} {outcome}", replace(screen, stages=replace(stages, **{name: changed}))
        if stage.outcome == Outcome.ACHIEVED:
            helped = replace(stage, outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.LIFTING)
            yield f"{name} lifted", replace(screen, stages=replace(stages, **{name: helped}))


def _sides(screen: Screen) -> Worse:
    stages = screen.stages
    for name in ("arm_pull", "weight_shift", "heel_raise", "foot_lift"):
        sides = getattr(stages, name)
        for side in ("left", "right"):
            lost = replace(getattr(sides, side), outcome=Outcome.NOT_ACHIEVED, help=None)
            changed_sides = replace(sides, **{side: replace(lost, lift_kg=None)})
            yield f"{name} {side}", replace(screen, stages=replace(stages, **{name: changed_sides}))


def _standing(screen: Screen) -> Worse:
    stages = screen.stages
    stand = stages.timed_stand
    if stand.seconds:
        shorter = replace(stand, seconds=stand.seconds / 2)
        yield "stands half as long", replace(screen, stages=replace(stages, timed_stand=shorter))
        unseen = replace(stand, seconds=None, ended_by=None)
        yield "stand not seen", replace(screen, stages=replace(stages, timed_stand=unseen))


def _orders(screen: Screen) -> Worse:
    orders = screen.orders
    for precaution in set(Precaution) - set(orders.precautions):
        added = replace(orders, precautions=[*orders.precautions, precaution])
        yield f"adds {precaution}", replace(screen, orders=added)
    for limb in LimbOrders.__struct_fields__:
        for order in (WeightBearingOrder.PWB, WeightBearingOrder.NWB):
            yield f"{limb} {order}", _tightened(screen, limb, order)
    yield "bed rest", replace(screen, orders=replace(orders, activity=Activity.BED_REST))


def _readiness(screen: Screen) -> Worse:
    ready = screen.readiness
    for field, value in (
        ("rass", None),
        ("instructions", None),
        ("instructions", Instructions.NONE),
        ("cooperation", None),
        ("cooperation", Cooperation.COMBATIVE),
        ("anaesthetised", True),
    ):
        yield f"{field} {value}", replace(screen, readiness=replace(ready, **{field: value}))


def _signs(screen: Screen) -> Worse:
    for stage in (Stage.RISE, Stage.TIMED_STAND):
        for sign in (Sign.KNEE_BUCKLING, Sign.DIZZINESS, Sign.LOSS_OF_BALANCE, Sign.LEANING_BACK):
            seen = SignSeen(stage=stage, sign=sign)
            yield f"{sign} at {stage}", replace(screen, signs=[*screen.signs, seen])


STRICT = list(WeightBearingOrder)


def _tightened(screen: Screen, limb: str, order: WeightBearingOrder) -> Screen:
    """``limb`` ordered ``order``, or left alone where it is ordered less already."""
    orders: Orders = screen.orders
    now = getattr(orders.weight_bearing, limb)
    if now is not None and STRICT.index(now.order) <= STRICT.index(order):
        return screen
    percent = 50 if order == WeightBearingOrder.PWB else None
    limbs = replace(orders.weight_bearing, **{limb: LimbOrder(order=order, percent=percent)})
    return replace(screen, orders=replace(orders, weight_bearing=limbs))


ABLE = convert(
    {
        "patient": {
            "identifier": {"system": "urn:oid:2.999.7", "value": "H-1"},
            "age_years": 70,
            "sex": "female",
            "mass_kg": "70",
            "stature_cm": "165",
            "falls_last_12_months": 0,
        },
        "observed_at": datetime(2026, 3, 4, 8, tzinfo=UTC),
        "orders": {"precautions": []},
        "readiness": {
            "rass": 0,
            "instructions": "two_step",
            "cooperation": "cooperative",
            "vital_signs": {"spo2_percent": "97"},
        },
        "stages": {
            "sitting_balance": {"outcome": "achieved", "seconds": "30"},
            "forward_lean": {"outcome": "achieved"},
            "arm_pull": {"left": {"outcome": "achieved"}, "right": {"outcome": "achieved"}},
            "knee_extension": {"left": {"mrc_grade": 5}, "right": {"mrc_grade": 5}},
            "rise": {"outcome": "achieved", "hands_used": False},
            "weight_shift": {"left": {"outcome": "achieved"}, "right": {"outcome": "achieved"}},
            "heel_raise": {"left": {"outcome": "achieved"}, "right": {"outcome": "achieved"}},
            "foot_lift": {"left": {"outcome": "achieved"}, "right": {"outcome": "achieved"}},
            "timed_stand": {"seconds": "90", "ended_by": "target_reached"},
        },
        "context": {"chair": {"reclines": True, "armrests_removable": True}},
    },
    Screen,
)


@st.composite
def nearly_able(draw: st.DrawFn) -> Screen:
    """An able person with up to four things worse: where the methods part company."""
    screen = ABLE
    for _ in range(draw(st.integers(0, 4))):
        _, screen = draw(st.sampled_from(list(worse(screen))))
    return screen
