"""Do the fields of a screen, each good in itself, make sense together?"""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta

from service.domain.age import age_at
from service.domain.measured_tests import MeasuredTests
from service.domain.orders import Limb, Orders, Precaution, WeightBearingOrder
from service.domain.problem import Fault
from service.domain.readiness import LyingPressure, Readiness, StandingPressure, VitalSigns
from service.domain.screen import Screen
from service.domain.sense_rules import fault
from service.domain.sense_stages import stage_faults
from service.domain.sense_text import text_faults
from service.domain.subject import Sex, Subject

ADULT_AGE = 18
OLDEST_AGE = 130
CLOCK_TOLERANCE = timedelta(minutes=5)
EARLIEST = datetime(1900, 1, 1, tzinfo=UTC)

_AMPUTATION = {
    Limb.LEFT_LEG: Precaution.AMPUTATION_LEFT_LEG,
    Limb.RIGHT_LEG: Precaution.AMPUTATION_RIGHT_LEG,
    Limb.LEFT_ARM: Precaution.AMPUTATION_LEFT_ARM,
    Limb.RIGHT_ARM: Precaution.AMPUTATION_RIGHT_ARM,
}


def faults_of(screen: Screen, now: datetime) -> tuple[Fault, ...]:
    """Every fault of sense, in the order of the screen's fields."""
    return (
        *_age_faults(screen.patient, screen.observed_at),
        *_subject_faults(screen.patient, screen.observed_at),
        *_observed_faults(screen.observed_at, now),
        *_order_faults(screen.orders),
        *_readiness_faults(screen.readiness),
        *stage_faults(screen.stages, screen.signs),
        *_test_faults(screen.tests),
        *_repeats("/context/moves", screen.context.moves or ()),
        *text_faults(screen),
    )


def _age_faults(patient: Subject, observed_at: datetime) -> Iterator[Fault]:
    if (patient.birth_date is None) == (patient.age_years is None):
        yield fault("/patient/birth_date", "sense.age_once")
        return
    path = "/patient/age_years" if patient.birth_date is None else "/patient/birth_date"
    if patient.birth_date is not None and patient.birth_date > observed_at.date():
        yield fault(path, "sense.born_after_screen")
        return
    age = age_at(patient, observed_at)
    if age < ADULT_AGE:
        yield fault(path, "sense.adults_only")
    if age > OLDEST_AGE:
        yield fault(path, "sense.age_over_130")


def _subject_faults(patient: Subject, observed_at: datetime) -> Iterator[Fault]:
    for name, value, measured_at in (
        ("mass_measured_at", patient.mass_kg, patient.mass_measured_at),
        ("stature_measured_at", patient.stature_cm, patient.stature_measured_at),
    ):
        path = f"/patient/{name}"
        if measured_at is None:
            continue
        if value is None:
            yield fault(path, "sense.measured_without_value")
        if measured_at > observed_at:
            yield fault(path, "sense.measured_after_observed")
        if measured_at < EARLIEST:
            yield fault(path, "sense.before_1900")
    if patient.injured_in_fall and patient.falls_last_12_months == 0:
        yield fault("/patient/injured_in_fall", "sense.injured_without_fall")
    if patient.pregnant and patient.sex == Sex.MALE:
        yield fault("/patient/pregnant", "sense.pregnant_male")
    known = {(patient.identifier.system, patient.identifier.value)}
    for index, identifier in enumerate(patient.more_identifiers):
        if (identifier.system, identifier.value) in known:
            yield fault(f"/patient/more_identifiers/{index}", "sense.identifier_repeated")
        known.add((identifier.system, identifier.value))


def _observed_faults(observed_at: datetime, now: datetime) -> Iterator[Fault]:
    if observed_at > now + CLOCK_TOLERANCE:
        yield fault("/observed_at", "sense.observed_in_future")
    if observed_at < EARLIEST:
        yield fault("/observed_at", "sense.before_1900")


def _order_faults(orders: Orders) -> Iterator[Fault]:
    for limb in Limb:
        order = getattr(orders.weight_bearing, limb)
        if order is None:
            continue
        path = f"/orders/weight_bearing/{limb}/percent"
        partial = order.order == WeightBearingOrder.PWB
        if partial and order.percent is None:
            yield fault(path, "sense.percent_missing")
        if not partial and order.percent is not None:
            yield fault(path, "sense.percent_unexpected")
    yield from _repeats("/orders/precautions", orders.precautions)
    yield from _repeats("/orders/prosthesis_worn", orders.prosthesis_worn)
    for index, limb in enumerate(orders.prosthesis_worn):
        if _AMPUTATION[limb] not in orders.precautions:
            yield fault(f"/orders/prosthesis_worn/{index}", "sense.prosthesis_without_amputation")


def _repeats(path: str, entries: Sequence[object]) -> Iterator[Fault]:
    if len(set(entries)) == len(entries):
        return
    seen: set[object] = set()
    for index, entry in enumerate(entries):
        if entry in seen:
            yield fault(f"{path}/{index}", "sense.repeated")
        seen.add(entry)


def _readiness_faults(readiness: Readiness) -> Iterator[Fault]:
    vital = readiness.vital_signs
    yield from _pressure_faults("/readiness/vital_signs", vital)
    mean = vital.mean_arterial_mmhg
    if mean is not None and not _between(mean, vital.diastolic_mmhg, vital.systolic_mmhg):
        yield fault("/readiness/vital_signs/mean_arterial_mmhg", "sense.mean_outside")
    if readiness.orthostatic is not None:
        for place in ("lying", "standing"):
            pressure = getattr(readiness.orthostatic, place)
            yield from _pressure_faults(f"/readiness/orthostatic/{place}", pressure)
    yield from _repeats("/readiness/symptoms", readiness.symptoms)


def _pressure_faults(
    path: str, pressure: VitalSigns | LyingPressure | StandingPressure
) -> Iterator[Fault]:
    systolic, diastolic = pressure.systolic_mmhg, pressure.diastolic_mmhg
    if systolic is not None and diastolic is not None and diastolic >= systolic:
        yield fault(f"{path}/diastolic_mmhg", "sense.diastolic_not_below_systolic")


def _between(value: int, low: int | None, high: int | None) -> bool:
    return (low is None or low <= value) and (high is None or value <= high)


def _test_faults(tests: MeasuredTests) -> Iterator[Fault]:
    battery = tests.sppb
    if battery is not None and battery.tandem_s and battery.semi_tandem_s is None:
        yield fault("/tests/sppb/tandem_s", "sense.stance_order")
