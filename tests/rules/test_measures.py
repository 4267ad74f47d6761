"""Does each test give the number its raw results say?"""

from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from service.domain.measured_tests import GaitSpeed, MeasuredTests, Sppb
from service.rules.measures import MEASURES, points_of
from tests.rules.measured import NORMS

SPPB = NORMS.norms["sppb"]


def test_every_test_of_the_screen_is_measured_in_the_order_of_its_fields() -> None:
    assert tuple(MEASURES) == MeasuredTests.__struct_fields__


@given(
    metres=st.decimals("1", "100", places=2),
    seconds=st.decimals("0.1", "3600", places=3),
)
def test_a_speed_is_judged_exactly_and_shown_cut_off(metres: Decimal, seconds: Decimal) -> None:
    gait = MEASURES["gait_speed"](
        NORMS.norms["gait_speed"], GaitSpeed(distance_m=metres, seconds=seconds)
    )
    assert gait.exact is not None
    assert gait.score is not None
    assert gait.exact * Fraction(seconds) == Fraction(metres)
    assert 0 <= gait.exact - Fraction(gait.score) < Fraction(1, 1000)
    assert gait.score.as_tuple().exponent == -3


def test_points_add_up_within_their_part() -> None:
    held = {name: Decimal(10) for name in ("side_by_side_s", "semi_tandem_s", "tandem_s")}
    assert points_of(SPPB, held) == {"balance": 4, "chair_stands": 0, "gait": 0}


def test_nothing_done_earns_nothing() -> None:
    nothing = Sppb(
        side_by_side_s=None,
        semi_tandem_s=None,
        tandem_s=None,
        chair_stands_s=None,
        gait_4m_s=None,
    )
    found = MEASURES["sppb"](SPPB, nothing)
    assert (found.score, found.exact) == (Decimal(0), Fraction(0))
