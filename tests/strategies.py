"""Which screens can hypothesis draw? Screens that pass both shape and sense.

``screens()`` gives Structs, ``screen_json()`` their bytes as a client would send them.
Every value is invented. The draws lean on the limits, because faults live there.
"""

from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any, TypeVar

import msgspec
from hypothesis import strategies as st

from service.domain.context import (
    Bed,
    Chair,
    Context,
    DeviceAtHand,
    DeviceStatus,
    FloorInjury,
    FloorSurface,
    OnTheFloor,
    Setting,
    Stretcher,
    WalkingAid,
)
from service.domain.measured_tests import (
    ChairStand30s,
    FiveTimesSitToStand,
    FourStageBalance,
    FunctionalReach,
    GaitSpeed,
    HandGrip,
    MeasuredTests,
    MrcSide,
    MrcSum,
    Sppb,
    TimedUpAndGo,
)
from service.domain.move import Move
from service.domain.orders import (
    Activity,
    Limb,
    LimbOrder,
    LimbOrders,
    Orders,
    Precaution,
    WeightBearingOrder,
)
from service.domain.readiness import (
    Cooperation,
    Instructions,
    LyingPressure,
    Orthostatic,
    Readiness,
    StandingPressure,
    Symptom,
    VitalSigns,
)
from service.domain.screen import Assessor, Screen
from service.domain.stages import (
    Attempt,
    Help,
    KneeExtension,
    KneeStrength,
    Outcome,
    Rise,
    Sides,
    Sign,
    SignSeen,
    SittingBalance,
    Stage,
    Stages,
    StandEnd,
    TimedStand,
)
from service.domain.subject import Sex, Subject
from service.domain.value import Identifier, Name

T = TypeVar("T")

NOW = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
"""The moment that drawn screens lie before."""

REACHED = (Outcome.ACHIEVED, Outcome.ACHIEVED_WITH_HELP)

ENCODER = msgspec.json.Encoder(decimal_format="number")


def maybe(strategy: st.SearchStrategy[T]) -> st.SearchStrategy[T | None]:
    return st.none() | strategy


def number(low: str, high: str, places: int = 1) -> st.SearchStrategy[Decimal]:
    """Decimals in their limits, both ends likely."""
    ends = st.sampled_from([Decimal(low), Decimal(high)])
    return ends | st.decimals(Decimal(low), Decimal(high), places=places)


def distinct(kind: Any, most: int) -> st.SearchStrategy[list[Any]]:
    return st.lists(st.sampled_from(list(kind)), unique=True, max_size=most)


WORDS = st.from_regex(r"[a-z0-9_/.-]{1,12}( [a-z]{1,8})?", fullmatch=True)
IDENTIFIERS = st.builds(
    Identifier,
    system=st.sampled_from(["urn:oid:2.999.7", "urn:oid:2.999.8"]),
    value=st.from_regex(r"[A-Z]-[0-9]{1,6}", fullmatch=True),
)
OFFSETS = st.sampled_from([UTC, timezone(timedelta(hours=1)), timezone(timedelta(hours=-9.5))])


@st.composite
def subjects(draw: st.DrawFn, observed_at: datetime) -> Subject:
    known = draw(st.lists(IDENTIFIERS, min_size=1, max_size=3, unique=True))
    born = date(observed_at.year - draw(st.integers(19, 129)), 3, draw(st.integers(1, 28)))
    by_date = draw(st.booleans())
    sex = draw(maybe(st.sampled_from(Sex)))
    mass = draw(maybe(number("20", "500")))
    stature = draw(maybe(number("90", "250")))
    falls = draw(maybe(st.integers(0, 1000)))
    before = st.integers(0, 100_000).map(lambda minutes: observed_at - timedelta(minutes=minutes))
    return Subject(
        identifier=known[0],
        more_identifiers=known[1:],
        birth_date=born if by_date else None,
        age_years=None if by_date else draw(st.integers(18, 130)),
        sex=sex,
        mass_kg=mass,
        mass_measured_at=None if mass is None else draw(maybe(before)),
        stature_cm=stature,
        stature_measured_at=None if stature is None else draw(maybe(before)),
        popliteal_height_cm=draw(maybe(number("20", "70"))),
        seated_hip_breadth_cm=draw(maybe(number("20", "120"))),
        falls_last_12_months=falls,
        injured_in_fall=False if falls == 0 else draw(maybe(st.booleans())),
        pregnant=draw(maybe(st.just(value=False) if sex == Sex.MALE else st.booleans())),
        name=draw(maybe(st.builds(Name, family=maybe(WORDS), given=maybe(WORDS)))),
    )


@st.composite
def limb_orders(draw: st.DrawFn) -> LimbOrder:
    order = draw(st.sampled_from(WeightBearingOrder))
    partial = order == WeightBearingOrder.PWB
    return LimbOrder(order=order, percent=draw(st.integers(1, 99)) if partial else None)


@st.composite
def orders(draw: st.DrawFn) -> Orders:
    worn = draw(distinct(Limb, 4)) if draw(st.booleans()) else []
    lost = [Precaution(f"amputation_{limb}") for limb in worn]
    others = draw(distinct([p for p in Precaution if p not in lost], 5))
    limb = maybe(limb_orders())
    return Orders(
        precautions=lost + others,
        weight_bearing=draw(
            st.builds(LimbOrders, left_leg=limb, right_leg=limb, left_arm=limb, right_arm=limb)
        ),
        activity=draw(maybe(st.sampled_from(Activity))),
        prosthesis_worn=worn,
    )


@st.composite
def pressures(draw: st.DrawFn) -> tuple[int, int]:
    systolic = draw(st.integers(30, 320))
    return systolic, draw(st.integers(10, min(220, systolic - 1)))


@st.composite
def vital_signs(draw: st.DrawFn) -> VitalSigns:
    systolic, diastolic = draw(pressures())
    taken = draw(st.booleans())
    return VitalSigns(
        spo2_percent=draw(maybe(number("30", "100"))),
        heart_rate_per_min=draw(maybe(st.integers(10, 350))),
        respiratory_rate_per_min=draw(maybe(st.integers(0, 120))),
        systolic_mmhg=systolic if taken else None,
        diastolic_mmhg=diastolic if taken else None,
        mean_arterial_mmhg=draw(maybe(st.integers(diastolic, min(250, systolic)))),
        mean_arterial_target_mmhg=draw(maybe(st.integers(10, 250))),
        temperature_celsius=draw(maybe(number("25", "45"))),
        fio2_fraction=draw(maybe(number("0.21", "1", places=2))),
        oxygen_support=draw(maybe(st.booleans())),
        vasopressor_support=draw(maybe(st.booleans())),
    )


@st.composite
def orthostatics(draw: st.DrawFn) -> Orthostatic:
    lying, standing = draw(pressures()), draw(pressures())
    return Orthostatic(
        lying=LyingPressure(systolic_mmhg=lying[0], diastolic_mmhg=lying[1]),
        standing=StandingPressure(
            systolic_mmhg=standing[0],
            diastolic_mmhg=standing[1],
            minutes_after_standing=draw(st.integers(0, 30)),
        ),
        from_sitting=draw(st.booleans()),
    )


def readinesses() -> st.SearchStrategy[Readiness]:
    return st.builds(
        Readiness,
        rass=maybe(st.integers(-5, 4)),
        instructions=maybe(st.sampled_from(Instructions)),
        cooperation=maybe(st.sampled_from(Cooperation)),
        anaesthetised=st.booleans(),
        vital_signs=vital_signs(),
        orthostatic=maybe(orthostatics()),
        pain_0_10=maybe(st.integers(0, 10)),
        symptoms=distinct(Symptom, 6),
    )


@st.composite
def attempts(draw: st.DrawFn, outcomes: tuple[Outcome, ...] = tuple(Outcome)) -> Attempt:
    outcome = draw(st.sampled_from(outcomes))
    if outcome != Outcome.ACHIEVED_WITH_HELP:
        return Attempt(outcome=outcome)
    given = draw(st.sampled_from(Help))
    lifted = draw(maybe(number("0", "300"))) if given == Help.LIFTING else None
    return Attempt(outcome=outcome, help=given, lift_kg=lifted)


@st.composite
def sitting_balances(draw: st.DrawFn) -> SittingBalance:
    tried = draw(attempts())
    seen = tried.outcome != Outcome.NOT_ATTEMPTED
    return SittingBalance(
        outcome=tried.outcome,
        help=tried.help,
        lift_kg=tried.lift_kg,
        seconds=draw(maybe(number("0", "3600"))) if seen else None,
    )


@st.composite
def rises(draw: st.DrawFn) -> Rise:
    tried = draw(attempts())
    seen = tried.outcome != Outcome.NOT_ATTEMPTED
    return Rise(
        outcome=tried.outcome,
        help=tried.help,
        lift_kg=tried.lift_kg,
        hands_used=draw(maybe(st.booleans())) if seen else None,
    )


@st.composite
def stages(draw: st.DrawFn) -> Stages:
    """Standing stages go on only while the stop rule lets them."""
    rise = draw(rises())
    going = rise.outcome in REACHED
    standing: dict[str, Sides] = {}
    for name in ("weight_shift", "heel_raise", "foot_lift"):
        unreached = (Outcome.NOT_ATTEMPTED, Outcome.NOT_ACHIEVED)
        one = attempts(tuple(Outcome) if going else unreached)
        sides = Sides(left=draw(one), right=draw(one))
        outcomes = {sides.left.outcome, sides.right.outcome}
        going = going and (bool(outcomes & set(REACHED)) or Outcome.NOT_ACHIEVED not in outcomes)
        standing[name] = sides
    longest = "3600" if rise.outcome in REACHED else "0"
    seconds = draw(maybe(number("0", longest)))
    ended = None if seconds is None else draw(maybe(st.sampled_from(StandEnd)))
    knee = st.builds(KneeStrength, mrc_grade=maybe(st.integers(0, 5)))
    return Stages(
        sitting_balance=draw(sitting_balances()),
        forward_lean=draw(attempts()),
        arm_pull=Sides(left=draw(attempts()), right=draw(attempts())),
        knee_extension=draw(st.builds(KneeExtension, left=knee, right=knee)),
        rise=rise,
        timed_stand=TimedStand(seconds=seconds, ended_by=ended),
        **standing,
    )


def was_attempted(done: Stages, stage: Stage) -> bool:
    if stage == Stage.TIMED_STAND:
        return done.timed_stand.seconds is not None
    part = getattr(done, stage)
    if isinstance(part, KneeExtension):
        return part.left.mrc_grade is not None or part.right.mrc_grade is not None
    parts = (part.left, part.right) if isinstance(part, Sides) else (part,)
    return any(tried.outcome != Outcome.NOT_ATTEMPTED for tried in parts)


@st.composite
def signs(draw: st.DrawFn, done: Stages) -> list[SignSeen]:
    possible = [
        (stage, sign)
        for stage in Stage
        for sign in Sign
        if sign == Sign.REFUSAL or was_attempted(done, stage)
    ]
    seen = draw(st.lists(st.sampled_from(possible), unique=True, max_size=5))
    return [SignSeen(stage=stage, sign=sign) for stage, sign in seen]


@st.composite
def batteries(draw: st.DrawFn) -> Sppb:
    held, taken = maybe(number("0", "60")), maybe(number("0.1", "120"))
    semi_tandem = draw(held)
    return Sppb(
        side_by_side_s=draw(held),
        semi_tandem_s=semi_tandem,
        tandem_s=None if semi_tandem is None else draw(held),
        chair_stands_s=draw(taken),
        gait_4m_s=draw(taken),
    )


def measured_tests() -> st.SearchStrategy[MeasuredTests]:
    held, taken, grip = number("0", "3600"), number("0.1", "3600"), maybe(number("0", "150"))
    side = st.builds(MrcSide, **{name: st.integers(0, 5) for name in MrcSide.__struct_fields__})
    stance = {name: maybe(held) for name in FourStageBalance.__struct_fields__}
    return st.builds(
        MeasuredTests,
        chair_stand_30s=maybe(
            st.builds(ChairStand30s, count=st.integers(0, 100), arms_used=st.booleans())
        ),
        five_times_sit_to_stand=maybe(st.builds(FiveTimesSitToStand, seconds=maybe(taken))),
        timed_up_and_go=maybe(st.builds(TimedUpAndGo, seconds=taken)),
        gait_speed=maybe(st.builds(GaitSpeed, distance_m=number("1", "100"), seconds=taken)),
        four_stage_balance=maybe(st.builds(FourStageBalance, **stance)),
        functional_reach=maybe(st.builds(FunctionalReach, reach_cm=number("0", "100"))),
        hand_grip=maybe(st.builds(HandGrip, left_kg=grip, right_kg=grip)),
        mrc_sum=maybe(st.builds(MrcSum, left=side, right=side)),
        sppb=maybe(batteries()),
    )


DEVICE_CLASSES = ("floor_sling_lift", "stand_aid", "walking_frame")


def devices_at_hand() -> st.SearchStrategy[DeviceAtHand]:
    return st.builds(
        DeviceAtHand,
        device_class=st.sampled_from(DEVICE_CLASSES),
        safe_working_load_kg=maybe(number("20", "1000")),
        status=st.sampled_from(DeviceStatus),
        label=maybe(WORDS),
    )


def contexts() -> st.SearchStrategy[Context]:
    flag = maybe(st.booleans())
    return st.builds(
        Context,
        moves=maybe(st.lists(st.sampled_from(Move), unique=True, min_size=1, max_size=16)),
        trained_helpers=maybe(st.integers(0, 50)),
        devices=st.just("any") | st.lists(devices_at_hand(), max_size=4),
        walking_aid=st.sampled_from(WalkingAid),
        chair=st.builds(
            Chair,
            reclines=flag,
            armrests_removable=flag,
            seat_height_cm=maybe(number("10", "120")),
            outer_width_cm=maybe(number("20", "200")),
        ),
        bed=st.builds(Bed, height_adjustable=flag, clearance_under_cm=maybe(number("0", "120"))),
        stretcher=st.builds(Stretcher, lowers_to_seat_height=flag),
        on_the_floor=maybe(
            st.builds(OnTheFloor, injury=maybe(st.sampled_from(FloorInjury)), gets_up_alone=flag)
        ),
        floor_surface=maybe(st.sampled_from(FloorSurface)),
    )


@st.composite
def screens(draw: st.DrawFn, now: datetime = NOW) -> Screen:
    """A screen observed before ``now`` that passes shape and sense."""
    ago = timedelta(minutes=draw(st.integers(0, 500_000)))
    observed_at = (now - ago).astimezone(draw(OFFSETS))
    done = draw(stages())
    return Screen(
        patient=draw(subjects(observed_at)),
        observed_at=observed_at,
        orders=draw(orders()),
        readiness=draw(readinesses()),
        stages=done,
        assessor=draw(maybe(st.builds(Assessor, identifier=IDENTIFIERS, role=maybe(WORDS)))),
        encounter=draw(maybe(IDENTIFIERS)),
        location=draw(maybe(WORDS)),
        setting=draw(st.sampled_from(Setting)),
        signs=draw(signs(done)),
        tests=draw(measured_tests()),
        context=draw(contexts()),
        source_id=draw(maybe(st.uuids().map(str))),
    )


def screen_json(now: datetime = NOW) -> st.SearchStrategy[bytes]:
    """A screen as the bytes of a request body."""
    return screens(now).map(ENCODER.encode)
