"""Which values are possible, but odd enough that somebody should look again?"""

from service.domain.age import age_at
from service.domain.condition import Condition
from service.domain.profile import Finding
from service.domain.screen import Screen
from service.rules.body import bmi
from service.rules.book import RuleBook
from service.rules.finding import by_parameter, limit


def odd_values(book: RuleBook, screen: Screen) -> dict[Condition, tuple[Finding, ...]]:
    """The conditions that ask for a second look; they change no choice."""
    return {
        Condition.ODD_AGE: _age(book, screen),
        Condition.ODD_MASS: _mass(book, screen),
        Condition.MASS_UNIT_DOUBTFUL: _pounds(book, screen),
    }


def _age(book: RuleBook, screen: Screen) -> tuple[Finding, ...]:
    years = age_at(screen.patient, screen.observed_at)
    if years < limit(book, "odd_age_from"):
        return ()
    path = "/patient/birth_date" if screen.patient.birth_date else "/patient/age_years"
    return (by_parameter(book, "odd_age_from", path, years),)


def _mass(book: RuleBook, screen: Screen) -> tuple[Finding, ...]:
    mass, path = screen.patient.mass_kg, "/patient/mass_kg"
    if mass is None:
        return ()
    if mass > limit(book, "odd_mass_above_kg"):
        return (by_parameter(book, "odd_mass_above_kg", path, mass),)
    if mass < limit(book, "odd_mass_below_kg"):
        return (by_parameter(book, "odd_mass_below_kg", path, mass),)
    return ()


def _pounds(book: RuleBook, screen: Screen) -> tuple[Finding, ...]:
    """High as sent, usual if the number were pounds."""
    mass, stature = screen.patient.mass_kg, screen.patient.stature_cm
    if mass is None or stature is None:
        return ()
    as_pounds = bmi(mass * limit(book, "kg_a_pound"), stature)
    usual = limit(book, "pounds_bmi_from") <= as_pounds <= limit(book, "pounds_bmi_to")
    if not usual or bmi(mass, stature) <= limit(book, "pounds_bmi_above"):
        return ()
    return (by_parameter(book, "pounds_bmi_above", "/patient/mass_kg", mass),)
