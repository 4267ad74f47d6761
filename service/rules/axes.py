"""Which grade do the findings and orders give each axis of capability?"""

from service.domain.axis import RANK, UNKNOWN, Axis
from service.domain.orders import Limb, Precaution
from service.domain.profile import AxisGrade, Finding
from service.domain.readiness import Cooperation, Instructions
from service.domain.screen import Screen
from service.domain.stages import Attempt, Help, Outcome, Rise, Sides, Sign, StandEnd
from service.rules.book import RuleBook
from service.rules.finding import by_axis, by_parameter, limit
from service.rules.limbs import LEGS, lost, ordered_weight

_CALM = (Cooperation.COOPERATIVE, Cooperation.NEEDS_PROMPTING)


def cooperation(book: RuleBook, screen: Screen) -> AxisGrade:
    """Calm, following instructions, cooperative: full, with prompting, or not."""
    seen = screen.readiness
    findings = tuple(
        by_axis(book, Axis.COOPERATION, f"/readiness/{name}", getattr(seen, name))
        for name in ("rass", "instructions", "cooperation")
    )
    return AxisGrade(_cooperation(book, screen), findings)


def _cooperation(book: RuleBook, screen: Screen) -> str:
    seen = screen.readiness
    if seen.anaesthetised:
        return "none"
    calm = (
        None
        if seen.rass is None
        else limit(book, "rass_calm_low") <= seen.rass <= limit(book, "rass_calm_high")
    )
    refused = (
        calm is False,
        seen.instructions == Instructions.NONE,
        seen.cooperation
        not in (
            None,
            *_CALM,
        ),
    )
    if any(refused):
        return "none"
    if None in (calm, seen.instructions, seen.cooperation):
        return UNKNOWN
    if seen.instructions == Instructions.TWO_STEP and seen.cooperation == Cooperation.COOPERATIVE:
        return "full"
    return "prompted"


def sitting(book: RuleBook, screen: Screen) -> AxisGrade:
    """Sat hands off long enough: unsupported; sat at all: supported."""
    seen = screen.stages.sitting_balance
    path = "/stages/sitting_balance"
    findings = [by_axis(book, Axis.SITTING, f"{path}/outcome", seen.outcome)]
    grade = {
        Outcome.NOT_ATTEMPTED: UNKNOWN,
        Outcome.NOT_ACHIEVED: "none",
        Outcome.ACHIEVED_WITH_HELP: "supported",
    }.get(seen.outcome)
    if grade is None:
        findings.append(by_parameter(book, "sitting_hold_s", f"{path}/seconds", seen.seconds))
        held = seen.seconds is not None and seen.seconds >= limit(book, "sitting_hold_s")
        grade = "unsupported" if held else "supported"
    return AxisGrade(grade, tuple(findings))


def lean(book: RuleBook, screen: Screen) -> AxisGrade:
    """Shoulders over knees and back, alone or with help."""
    attempt = screen.stages.forward_lean
    finding = by_axis(book, Axis.LEAN, "/stages/forward_lean/outcome", attempt.outcome)
    return AxisGrade(_helped((attempt,)), (finding,))


def sided(book: RuleBook, axis: Axis, stage: str, sides: Sides) -> AxisGrade:
    """A stage done to both sides: the weaker side decides."""
    findings = tuple(
        by_axis(book, axis, f"/stages/{stage}/{side}/outcome", getattr(sides, side).outcome)
        for side in ("left", "right")
    )
    return AxisGrade(_helped((sides.left, sides.right)), findings)


def _helped(attempts: tuple[Attempt, ...]) -> str:
    outcomes = {attempt.outcome for attempt in attempts}
    for outcome, grade in (
        (Outcome.NOT_ACHIEVED, "none"),
        (Outcome.NOT_ATTEMPTED, UNKNOWN),
        (Outcome.ACHIEVED_WITH_HELP, "helped"),
    ):
        if outcome in outcomes:
            return grade
    return "able"


def knees(book: RuleBook, screen: Screen) -> tuple[AxisGrade, AxisGrade]:
    """Strength of the stronger and of the weaker leg; a lost leg is left out."""
    extension = screen.stages.knee_extension
    graded = {Limb.LEFT_LEG: extension.left.mrc_grade, Limb.RIGHT_LEG: extension.right.mrc_grade}
    there = {leg: graded[leg] for leg in LEGS if not lost(screen, leg)}
    known = [grade for grade in there.values() if grade is not None]
    complete = there and len(known) == len(there)

    def shown(axis: Axis, grade: str) -> AxisGrade:
        paths = {Limb.LEFT_LEG: "left", Limb.RIGHT_LEG: "right"}
        return AxisGrade(
            grade,
            tuple(
                by_axis(book, axis, f"/stages/knee_extension/{paths[leg]}/mrc_grade", value)
                for leg, value in there.items()
            ),
        )

    return (
        shown(Axis.KNEE_STRONGER, str(max(known)) if known else UNKNOWN),
        shown(Axis.KNEE_WEAKER, str(min(known)) if complete else UNKNOWN),
    )


def rise(book: RuleBook, screen: Screen) -> AxisGrade:
    """How the person came to standing."""
    seen = screen.stages.rise
    findings: list[Finding] = [by_axis(book, Axis.RISE, "/stages/rise/outcome", seen.outcome)]
    if seen.help is not None:
        findings.append(by_axis(book, Axis.RISE, "/stages/rise/help", seen.help))
    if seen.outcome == Outcome.ACHIEVED:
        findings.append(by_axis(book, Axis.RISE, "/stages/rise/hands_used", seen.hands_used))
    return AxisGrade(_rise(seen), tuple(findings))


def _rise(seen: Rise) -> str:
    if seen.outcome == Outcome.ACHIEVED:
        return "without_hands" if seen.hands_used is False else "with_hands"
    if seen.outcome == Outcome.ACHIEVED_WITH_HELP:
        by_help = {Help.CUE: "with_hands", Help.STEADYING: "steadied"}
        return by_help.get(seen.help, "lifted") if seen.help else "lifted"
    return UNKNOWN if seen.outcome == Outcome.NOT_ATTEMPTED else "none"


def buckled(screen: Screen) -> bool:
    """Whether a knee gave way at any stage."""
    return screen.stages.timed_stand.ended_by == StandEnd.KNEE_BUCKLING or any(
        seen.sign == Sign.KNEE_BUCKLING for seen in screen.signs
    )


def seen_weight(book: RuleBook, screen: Screen) -> str:
    """Weight-bearing as far as it was seen, whatever is ordered."""
    risen = _rise(screen.stages.rise)
    seconds = screen.stages.timed_stand.seconds
    if risen in (UNKNOWN, "none", "lifted"):
        return UNKNOWN if risen == UNKNOWN else "none"
    if seconds is None:
        return UNKNOWN
    if seconds < limit(book, "stand_5_s"):
        return "none"
    stages = screen.stages
    steady = all(
        _helped((sides.left, sides.right)) == "able"
        for sides in (stages.weight_shift, stages.heel_raise, stages.foot_lift)
    )
    long_enough = seconds >= limit(book, "stand_60_s")
    return "full" if steady and long_enough and not buckled(screen) else "partial"


def weight_bearing(book: RuleBook, screen: Screen) -> AxisGrade:
    """The lower of what was seen and what is ordered."""
    seen, ordered = seen_weight(book, screen), ordered_weight(screen)
    grade = min((seen, ordered), key=RANK[Axis.WEIGHT_BEARING].__getitem__)
    if ordered == "none":
        grade = "none"
    axis = Axis.WEIGHT_BEARING
    findings = [
        by_axis(book, axis, "/stages/rise/outcome", screen.stages.rise.outcome),
        by_parameter(
            book, "stand_5_s", "/stages/timed_stand/seconds", screen.stages.timed_stand.seconds
        ),
    ]
    for leg in LEGS:
        order = getattr(screen.orders.weight_bearing, leg)
        if order is not None:
            findings.append(by_axis(book, axis, f"/orders/weight_bearing/{leg}", order.order))
    findings += [
        by_axis(book, axis, f"/orders/precautions/{index}", precaution)
        for index, precaution in enumerate(screen.orders.precautions)
        if precaution in (Precaution.AMPUTATION_LEFT_LEG, Precaution.AMPUTATION_RIGHT_LEG)
    ]
    return AxisGrade(grade, tuple(findings))
