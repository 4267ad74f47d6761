"""Which number does each test give, and from which parts?"""

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any

from msgspec import Struct
from msgspec.structs import asdict, astuple

from service.domain.measured_tests import (
    ChairStand30s,
    FiveTimesSitToStand,
    FourStageBalance,
    FunctionalReach,
    GaitSpeed,
    HandGrip,
    MrcSum,
    Sppb,
    TimedUpAndGo,
)
from service.rules.comparison import holds
from service.rules.norm_files import NormFile, PointTable


class Measure(Struct, frozen=True):
    """A test's score as it is shown, its parts, and the exact value that is judged."""

    score: Decimal | None
    parts: dict[str, Decimal]
    exact: Fraction | None


def _measure(score: Decimal | None, parts: dict[str, Decimal]) -> Measure:
    return Measure(score, parts, None if score is None else Fraction(score))


def _known(result: Struct) -> dict[str, Decimal]:
    return {name: value for name, value in asdict(result).items() if value is not None}


def _chair_stand(norm: NormFile, result: ChairStand30s) -> Measure:
    done = {name for name, value in asdict(result).items() if value is True}
    count = Decimal(result.count)
    score = next((fixed.score for fixed in norm.fixed if fixed.when in done), count)
    return _measure(score, {"count": count})


def _seconds(_: NormFile, result: FiveTimesSitToStand | TimedUpAndGo) -> Measure:
    return _measure(result.seconds, {})


def _gait_speed(norm: NormFile, result: GaitSpeed) -> Measure:
    """The shown speed is cut off, never rounded up, so that it never flatters."""
    exact = Fraction(result.distance_m) / Fraction(result.seconds)
    step = Decimal(1).scaleb(-norm.decimals)
    shown = Decimal(exact // Fraction(step)).scaleb(-norm.decimals)
    return Measure(shown, _known(result), exact)


def _four_stage_balance(norm: NormFile, result: FourStageBalance) -> Measure:
    held = _known(result)
    if not held:
        return _measure(None, {})
    return _measure(_total(points_of(norm, held)), held)


def _functional_reach(_: NormFile, result: FunctionalReach) -> Measure:
    return _measure(result.reach_cm, {})


def _hand_grip(_: NormFile, result: HandGrip) -> Measure:
    hands = _known(result)
    return _measure(max(hands.values(), default=None), hands)


def _mrc_sum(_: NormFile, result: MrcSum) -> Measure:
    sides = {name: Decimal(sum(astuple(getattr(result, name)))) for name in ("left", "right")}
    return _measure(_total(sides), sides)


def _sppb(norm: NormFile, result: Sppb) -> Measure:
    points = points_of(norm, _known(result))
    return _measure(_total(points), points)


def _total(points: dict[str, Decimal]) -> Decimal:
    return sum(points.values(), start=Decimal())


def points_of(norm: NormFile, raw: dict[str, Decimal]) -> dict[str, Decimal]:
    """The points that the raw results earn, by the part that they count towards."""
    earned: dict[str, int] = {}
    parts: dict[str, Decimal] = {}
    for table in norm.points:
        stopped = table.after is not None and not earned[table.after]
        value = None if stopped else raw.get(table.reads)
        earned[table.reads] = _points(table, value)
        parts[table.gives] = parts.get(table.gives, Decimal()) + earned[table.reads]
    return parts


def _points(table: PointTable, value: Decimal | None) -> int:
    if value is None:
        return table.unable
    seen = Fraction(value)
    rows = (row.points for row in table.rows if holds(seen, row.holds, row.value))
    return next(rows, table.otherwise)


MEASURES: dict[str, Callable[[NormFile, Any], Measure]] = {
    "chair_stand_30s": _chair_stand,
    "five_times_sit_to_stand": _seconds,
    "timed_up_and_go": _seconds,
    "gait_speed": _gait_speed,
    "four_stage_balance": _four_stage_balance,
    "functional_reach": _functional_reach,
    "hand_grip": _hand_grip,
    "mrc_sum": _mrc_sum,
    "sppb": _sppb,
}
