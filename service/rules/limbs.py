"""What do orders, injuries and missing limbs leave a person to stand on and hold with?"""

from service.domain.axis import Axis
from service.domain.condition import Condition
from service.domain.orders import Limb, LimbOrder, Precaution, WeightBearingOrder
from service.domain.profile import AxisGrade, Finding
from service.domain.screen import Screen
from service.domain.stages import Attempt, Outcome
from service.rules.book import RuleBook
from service.rules.finding import by_axis, by_condition

NOTHING, PARTLY, FULLY = range(3)
_ORDERED = {
    WeightBearingOrder.NWB: NOTHING,
    WeightBearingOrder.TTWB: NOTHING,
    WeightBearingOrder.PWB: PARTLY,
    WeightBearingOrder.WBAT: FULLY,
    WeightBearingOrder.FWB: FULLY,
}
_LOST = {
    Limb.LEFT_LEG: Precaution.AMPUTATION_LEFT_LEG,
    Limb.RIGHT_LEG: Precaution.AMPUTATION_RIGHT_LEG,
    Limb.LEFT_ARM: Precaution.AMPUTATION_LEFT_ARM,
    Limb.RIGHT_ARM: Precaution.AMPUTATION_RIGHT_ARM,
}
_INJURED = {
    Limb.LEFT_ARM: Precaution.SHOULDER_INJURY_LEFT,
    Limb.RIGHT_ARM: Precaution.SHOULDER_INJURY_RIGHT,
}
LEGS = (Limb.LEFT_LEG, Limb.RIGHT_LEG)
ARMS = (Limb.LEFT_ARM, Limb.RIGHT_ARM)


def lost(screen: Screen, limb: Limb) -> bool:
    """Whether the limb is missing and no prosthesis is worn in its place."""
    orders = screen.orders
    return _LOST[limb] in orders.precautions and limb not in orders.prosthesis_worn


def bears(screen: Screen, limb: Limb) -> int:
    """What the limb may bear: NOTHING, PARTLY or FULLY. A limb without an order is not limited."""
    if lost(screen, limb):
        return NOTHING
    ordered: LimbOrder | None = getattr(screen.orders.weight_bearing, limb)
    return FULLY if ordered is None else _ORDERED[ordered.order]


def ordered_weight(screen: Screen) -> str:
    """The most weight-bearing that both legs' orders leave, as a grade of its axis."""
    weaker, stronger = sorted(bears(screen, leg) for leg in LEGS)
    if weaker == FULLY:
        return "full"
    if stronger == FULLY or weaker == PARTLY:
        return "partial"
    return "none"


def limb_findings(
    book: RuleBook, screen: Screen, condition: Condition, limbs: tuple[Limb, ...], under: int
) -> tuple[Finding, ...]:
    """Each of ``limbs`` that may bear less than ``under``."""
    return tuple(
        by_condition(book, condition, f"/orders/weight_bearing/{limb}", _why(screen, limb))
        for limb in limbs
        if bears(screen, limb) < under
    )


def _why(screen: Screen, limb: Limb) -> str:
    if lost(screen, limb):
        return "limb missing, no prosthesis worn"
    ordered: LimbOrder = getattr(screen.orders.weight_bearing, limb)
    return f"{ordered.order} {ordered.percent} %" if ordered.percent else str(ordered.order)


def arms(book: RuleBook, screen: Screen) -> AxisGrade:
    """How many arms can pull or push: achieved alone, not ordered off, not hurt, not missing."""
    pull = screen.stages.arm_pull
    sides = ((Limb.LEFT_ARM, pull.left), (Limb.RIGHT_ARM, pull.right))
    capped = {Precaution.STERNAL, Precaution.RIB_FRACTURE} & set(screen.orders.precautions)
    able = [_able(screen, limb, attempt) and not capped for limb, attempt in sides]
    unseen = [
        attempt.outcome == Outcome.NOT_ATTEMPTED and not capped and _free(screen, limb)
        for limb, attempt in sides
    ]
    grade = ("none", "one", "both")[sum(able)]
    if not any(able) and any(unseen):
        grade = "unknown"
    findings = [
        by_axis(book, Axis.ARMS, f"/stages/arm_pull/{side}/outcome", attempt.outcome)
        for side, attempt in (("left", pull.left), ("right", pull.right))
    ]
    findings += [
        by_axis(book, Axis.ARMS, f"/orders/precautions/{index}", precaution)
        for index, precaution in enumerate(screen.orders.precautions)
        if precaution in capped
    ]
    findings += [
        by_axis(book, Axis.ARMS, f"/orders/weight_bearing/{limb}", "must not be loaded")
        for limb in ARMS
        if not _free(screen, limb)
    ]
    return AxisGrade(grade, tuple(findings))


def _able(screen: Screen, limb: Limb, attempt: Attempt) -> bool:
    return attempt.outcome == Outcome.ACHIEVED and _free(screen, limb)


def _free(screen: Screen, limb: Limb) -> bool:
    """The arm is there, not hurt, and not ordered to bear nothing. A prosthesis does not pull."""
    harmed = {_INJURED[limb], _LOST[limb]} & set(screen.orders.precautions)
    return bears(screen, limb) > NOTHING and not harmed
