"""Which screens can hypothesis draw? Screens that pass both shape and sense.

``screens()`` gives Structs, ``screen_json()`` their bytes as a client would send them.
Every value is invented. The draws lean on the limits, because faults live there.
"""

from datetime import UTC, datetime, timedelta

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
from service.domain.screen import Assessor, Screen
from tests.strategies_basics import IDENTIFIERS, OFFSETS, WORDS, maybe, number
from tests.strategies_person import orders, readinesses, subjects
from tests.strategies_stages import signs, stages

NOW = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
"""The moment that drawn screens lie before."""

ENCODER = msgspec.json.Encoder(decimal_format="number")


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
