"""May the person be moved at all, and may they be brought to sitting or standing?

Clearance holds for every move. Uprightness holds for moves that sit or stand the person: deep
sedation, an unstable spine or fracture and a bed-rest order leave lying moves open, under a
clinician's review, by the flat-move tables.
"""

from collections.abc import Iterator

from service.domain.axis import RANK, UNKNOWN, Axis
from service.domain.condition import Condition
from service.domain.context import Setting
from service.domain.profile import AxisGrade, Finding
from service.domain.readiness import Symptom
from service.domain.screen import Screen
from service.rules.book import RuleBook
from service.rules.finding import by_axis, by_condition, by_parameter, limit

WITHHOLD, REVIEW, CLEAR = "withhold", "review", "clear"
Effect = tuple[str, Finding]

# vital sign, on which side of the parameter it counts, parameter, grade it sets
_VITAL_SIGNS = (
    ("spo2_percent", "below", "spo2_withhold_below", WITHHOLD),
    ("heart_rate_per_min", "above", "heart_rate_withhold_above", WITHHOLD),
    ("mean_arterial_mmhg", "below", "mean_arterial_withhold_below", WITHHOLD),
    ("systolic_mmhg", "below", "systolic_withhold_below", WITHHOLD),
    ("systolic_mmhg", "above", "systolic_withhold_above", WITHHOLD),
    ("respiratory_rate_per_min", "above", "respiratory_rate_review_above", REVIEW),
    ("fio2_fraction", "above", "fio2_review_above", REVIEW),
    ("heart_rate_per_min", "below", "heart_rate_review_below", REVIEW),
    ("heart_rate_per_min", "above", "heart_rate_review_above", REVIEW),
    ("temperature_celsius", "from", "temperature_review_from", REVIEW),
)

# condition, grade it sets on both axes, grade it sets on uprightness
_CONDITIONS = (
    (Condition.ORTHOSTATIC_SYMPTOMS, REVIEW, REVIEW),
    (Condition.VITAL_SIGNS_NOT_TAKEN, REVIEW, REVIEW),
    (Condition.DEEPLY_SEDATED, REVIEW, WITHHOLD),
    (Condition.UNSTABLE_SPINE, REVIEW, WITHHOLD),
    (Condition.UNSTABLE_MAJOR_FRACTURE, REVIEW, WITHHOLD),
    (Condition.BED_REST, CLEAR, WITHHOLD),
)


def clearance(
    book: RuleBook, screen: Screen, conditions: dict[Condition, tuple[Finding, ...]]
) -> tuple[AxisGrade, AxisGrade]:
    """The grades of clearance and of uprightness, each with what set it."""
    whole = list(_of_readiness(book, screen))
    upright = list(whole)
    for condition, any_move, sitting_up in _CONDITIONS:
        for finding in conditions.get(condition, ()):
            whole.append((any_move, finding))
            upright.append((sitting_up, finding))
    asked = by_axis(book, Axis.CLEARANCE, "/readiness/rass", screen.readiness.rass)
    return _worst(Axis.CLEARANCE, whole, asked), _worst(Axis.UPRIGHT, upright, asked)


def _worst(axis: Axis, effects: list[Effect], asked: Finding) -> AxisGrade:
    """The lowest grade any fact sets. How awake a person is decides before anything is known:
    without it, and with nothing that withholds, the grade is unknown."""
    grades = [grade for grade, _ in effects]
    lowest = min(grades, key=RANK[axis].__getitem__, default=CLEAR)
    if lowest == UNKNOWN and WITHHOLD in grades:
        lowest = WITHHOLD
    set_by = tuple(finding for grade, finding in effects if grade == lowest)
    return AxisGrade(lowest, set_by if lowest != CLEAR else (asked,))


def _of_readiness(book: RuleBook, screen: Screen) -> Iterator[Effect]:
    readiness = screen.readiness
    yield from _of_rass(book, screen)
    yield from _of_vital_signs(book, screen)
    vital = readiness.vital_signs
    target, mean = vital.mean_arterial_target_mmhg, vital.mean_arterial_mmhg
    if target is not None and mean is not None and mean < target:
        path = "/readiness/vital_signs/mean_arterial_mmhg"
        yield WITHHOLD, by_axis(book, Axis.CLEARANCE, path, mean)
    if Symptom.CHEST_PAIN in readiness.symptoms:
        path = f"/readiness/symptoms/{readiness.symptoms.index(Symptom.CHEST_PAIN)}"
        yield WITHHOLD, by_axis(book, Axis.CLEARANCE, path, Symptom.CHEST_PAIN)


def _of_rass(book: RuleBook, screen: Screen) -> Iterator[Effect]:
    rass, path = screen.readiness.rass, "/readiness/rass"
    if rass is None:
        yield UNKNOWN, by_axis(book, Axis.CLEARANCE, path, rass)
        return
    if rass >= limit(book, "rass_withhold_from"):
        yield WITHHOLD, by_parameter(book, "rass_withhold_from", path, rass)
    elif rass >= limit(book, "rass_review_high"):
        yield REVIEW, by_parameter(book, "rass_review_high", path, rass)
    elif rass <= limit(book, "rass_review_low"):
        yield REVIEW, by_parameter(book, "rass_review_low", path, rass)


def _of_vital_signs(book: RuleBook, screen: Screen) -> Iterator[Effect]:
    for name, side, parameter, grade in _VITAL_SIGNS:
        value = getattr(screen.readiness.vital_signs, name)
        if value is None:
            continue
        held = limit(book, parameter)
        beyond = {"below": value < held, "above": value > held, "from": value >= held}
        if beyond[side]:
            path = f"/readiness/vital_signs/{name}"
            yield grade, by_parameter(book, parameter, path, value)


def vital_signs_missing(book: RuleBook, screen: Screen) -> tuple[Finding, ...]:
    """The finding that no vital sign was taken where the setting expects one; else empty."""
    vital = screen.readiness.vital_signs
    taken = (
        vital.spo2_percent,
        vital.heart_rate_per_min,
        vital.respiratory_rate_per_min,
        vital.systolic_mmhg,
    )
    expected = limit(book, "vital_signs_expected_acute") and screen.setting == Setting.ACUTE
    if not expected or any(value is not None for value in taken):
        return ()
    path = "/readiness/vital_signs"
    return (by_condition(book, Condition.VITAL_SIGNS_NOT_TAKEN, path, None),)
