"""What do the person's size and the help given mean in numbers?

Numbers are rounded to whole tenths towards caution: loads up, times down.
"""

from collections.abc import Iterable
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from service.domain.axis import Number
from service.domain.condition import Condition
from service.domain.profile import Finding, NumberSeen
from service.domain.screen import Screen
from service.domain.stages import Help, Outcome, Rise, SittingBalance
from service.rules.book import RuleBook
from service.rules.finding import by_condition, by_parameter, limit

TENTH = Decimal("0.1")
CM_PER_M = Decimal(100)
PERCENT = Decimal(100)


def numbers_of(book: RuleBook, screen: Screen) -> dict[Number, NumberSeen]:
    """Every number of the profile; unknown where nothing was recorded."""
    mass = screen.patient.mass_kg
    share = limit(book, "leg_mass_percent") / PERCENT
    leg = None if mass is None else mass * share
    mass_finding = by_parameter(book, "heavy_from_kg", "/patient/mass_kg", mass)
    leg_finding = by_parameter(book, "leg_mass_percent", "/patient/mass_kg", mass)
    seconds = screen.stages.timed_stand.seconds
    stood = by_parameter(book, "stand_5_s", "/stages/timed_stand/seconds", seconds)
    lifted, paths = _lifted(screen)
    held = tuple(by_parameter(book, "nothing_lifted_kg", path, kg) for path, kg in paths)
    return {
        Number.MASS_KG: NumberSeen(_rounded(mass, ROUND_CEILING), (mass_finding,)),
        Number.STANDING_TIME_S: NumberSeen(_rounded(seconds, ROUND_FLOOR), (stood,)),
        Number.HELPER_LIFT_KG: NumberSeen(_rounded(lifted, ROUND_CEILING), held),
        Number.LEG_MASS_KG: NumberSeen(_rounded(leg, ROUND_CEILING), (leg_finding,)),
    }


def _rounded(value: Decimal | None, rounding: str) -> Decimal | None:
    return None if value is None else value.quantize(TENTH, rounding)


def _attempts(screen: Screen) -> Iterable[tuple[str, Rise | SittingBalance]]:
    """Where the body may have to be held up; a foot or a hand that is lifted is no such load."""
    yield "/stages/sitting_balance", screen.stages.sitting_balance
    yield "/stages/rise", screen.stages.rise


def _lifted(screen: Screen) -> tuple[Decimal | None, list[tuple[str, Decimal | None]]]:
    """The most that a helper held up; unknown where it was not estimated, and unknown while
    nobody has seen the person rise, for want of trying or of strength."""
    lifts = [
        (f"{path}/lift_kg", _held_up(screen, attempt))
        for path, attempt in _attempts(screen)
        if attempt.help == Help.LIFTING
    ]
    if any(kg is None for _, kg in lifts):
        return None, lifts
    if screen.stages.rise.outcome == Outcome.NOT_ATTEMPTED:
        return None, [("/stages/rise/outcome", None)]
    if screen.stages.rise.outcome == Outcome.NOT_ACHIEVED:
        return None, lifts
    return max((kg for _, kg in lifts if kg is not None), default=Decimal(0)), lifts


def _held_up(screen: Screen, attempt: Rise | SittingBalance) -> Decimal | None:
    """Kilograms as estimated, or as a share of the body mass; the greater where both are sent."""
    mass, share = screen.patient.mass_kg, attempt.lift_percent
    by_share = None if mass is None or share is None else mass * share / PERCENT
    told = [kg for kg in (attempt.lift_kg, by_share) if kg is not None]
    return max(told, default=None)


def mass_unknown(book: RuleBook, screen: Screen) -> tuple[Finding, ...]:
    """The finding that no mass is recorded; else empty."""
    if screen.patient.mass_kg is not None:
        return ()
    return (by_condition(book, Condition.MASS_UNKNOWN, "/patient/mass_kg", None),)


def bmi(mass_kg: Decimal, stature_cm: Decimal) -> Decimal:
    """Body mass index, kg/m2."""
    return mass_kg / (stature_cm / CM_PER_M) ** 2


def very_heavy(book: RuleBook, screen: Screen) -> tuple[Finding, ...]:
    """The findings that call for expanded capacity; without a mass, or above the mass without a
    stature, it is assumed."""
    mass, stature = screen.patient.mass_kg, screen.patient.stature_cm
    if mass is not None and mass <= limit(book, "very_heavy_above_kg"):
        return ()
    heavy = by_parameter(book, "very_heavy_above_kg", "/patient/mass_kg", mass)
    if mass is None or stature is None:
        tall = by_parameter(book, "very_heavy_bmi_above", "/patient/stature_cm", stature)
        return (heavy, tall)
    index = bmi(mass, stature)
    if index <= limit(book, "very_heavy_bmi_above"):
        return ()
    shown = index.quantize(TENTH, ROUND_CEILING)
    return (heavy, by_parameter(book, "very_heavy_bmi_above", "/patient/stature_cm", shown))
