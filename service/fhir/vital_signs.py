"""How do vital signs and body size that were measured for this screen become Observations?

Only what was measured is told: nothing that the hospital's record holds already is charted anew.
Body size goes out only with the time at which it was measured.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal

from service.domain.readiness import LyingPressure, Orthostatic, StandingPressure, VitalSigns
from service.domain.subject import Subject
from service.fhir.codes import NOT_KNOWN
from service.fhir.codes import VITAL_SIGNS as CATEGORY
from service.fhir.observation import NOTHING_MORE, Frame, More, Value, measured, missing
from service.fhir.own_sent_codes import BODY_POSITIONS, VITAL_SIGNS
from service.fhir.resources import Component, Observation
from service.fhir.site import Site
from service.fhir.structs import Annotation, CodeableConcept, Extension
from service.fhir.text import clock_time, sentence, zoned
from service.fhir.units import quantity, unit_of

_CATEGORY = (CATEGORY,)
_PROFILE = "vital-sign"
_POSITION = "http://hl7.org/fhir/StructureDefinition/observation-bodyPosition"
_PRESSURE = "vital-blood-pressure"
_ORTHOSTATIC = "vital-orthostatic"
_BEFORE = "vital-pressure-before"
STANDING_PRESSURE = "vital-pressure-standing"
_MINUTES, _AFTER = "vital-minutes-standing", "minutes_after_standing"
_MASS, _STATURE, _INDEX = "vital-mass", "vital-stature", "vital-body-mass-index"
_SINGLE = {
    "spo2_percent": "vital-spo2",
    "heart_rate_per_min": "vital-heart-rate",
    "respiratory_rate_per_min": "vital-respiratory-rate",
    "temperature_celsius": "vital-temperature",
    "fio2_fraction": "vital-fio2",
}
_PRESSURES = ("systolic_mmhg", "diastolic_mmhg", "mean_arterial_mmhg")
VITAL_FINDINGS = {**_SINGLE, **dict.fromkeys(_PRESSURES, _PRESSURE)}
"""By the field of the screen: under which finding it is told."""
SIZE_FINDINGS = {"mass_kg": _MASS, "stature_cm": _STATURE}
_CM_IN_M = Decimal(100)
_ONE_DECIMAL = Decimal("0.1")


def vital_findings(frame: Frame) -> list[Observation]:
    """Those that belong to the screen and stand in its panel."""
    ready = frame.record.content.readiness
    signs = ready.vital_signs
    found = [
        _sign(frame, finding, name, getattr(signs, name))
        for name, finding in _SINGLE.items()
        if getattr(signs, name) is not None
    ]
    if any(getattr(signs, name) is not None for name in _PRESSURES):
        found.append(_pressure(frame, _PRESSURE, signs))
    if ready.orthostatic is not None:
        found.append(_orthostatic(frame, ready.orthostatic))
    return found


def nested_findings(frame: Frame) -> list[Observation]:
    """What the orthostatic panel holds together: two pressures, and when the second was taken."""
    taken = frame.record.content.readiness.orthostatic
    if taken is None:
        return []
    first = "sitting" if taken.from_sitting else "lying"
    return [
        _pressure(frame, _BEFORE, taken.lying, first),
        _pressure(frame, STANDING_PRESSURE, taken.standing, "standing"),
        _sign(frame, _MINUTES, _AFTER, taken.standing.minutes_after_standing),
    ]


def size_findings(frame: Frame) -> list[Observation]:
    """Body mass and stature where it is known when they were measured, and what follows."""
    person = frame.record.content.patient
    found = []
    if person.mass_kg is not None and person.mass_measured_at is not None:
        when = zoned(person.mass_measured_at)
        found.append(_sign(frame, _MASS, "mass_kg", person.mass_kg, when))
    if person.stature_cm is not None and person.stature_measured_at is not None:
        when = zoned(person.stature_measured_at)
        found.append(_sign(frame, _STATURE, "stature_cm", person.stature_cm, when))
    found.extend(_index(frame, person))
    return found


def _index(frame: Frame, person: Subject) -> Iterator[Observation]:
    if (
        person.mass_kg is None
        or person.stature_cm is None
        or person.mass_measured_at is None
        or person.stature_measured_at is None
    ):
        return
    metres = person.stature_cm / _CM_IN_M
    index = (person.mass_kg / (metres * metres)).quantize(_ONE_DECIMAL, ROUND_HALF_UP)
    when = zoned(max(person.mass_measured_at, person.stature_measured_at))
    more = More(
        derived_from=tuple([frame.reference(one) for one in (_MASS, _STATURE)]),
        effective=when,
        words=_measured_at(when),
    )
    code = _concept(frame.site, "body_mass_index")
    value = measured(quantity(index, "kg/m2"))
    yield frame.member(_INDEX, code, value, more, _CATEGORY, _PROFILE)


def _sign(
    frame: Frame, finding: str, name: str, seen: Decimal | int, when: datetime | None = None
) -> Observation:
    more = NOTHING_MORE if when is None else More(effective=when, words=_measured_at(when))
    return frame.member(
        finding, _concept(frame.site, name), _measured(name, seen), more, _CATEGORY, _PROFILE
    )


def _measured_at(when: datetime) -> str:
    return f" Measured {clock_time(when, when)}."


def _pressure(
    frame: Frame,
    finding: str,
    taken: VitalSigns | LyingPressure | StandingPressure,
    position: str | None = None,
) -> Observation:
    """Systolic and diastolic always, said to be missing where they are. How long a person stood
    is told beside it: the standard allows no component of a vital sign in minutes."""
    site = frame.site
    parts = {name: getattr(taken, name, None) for name in _PRESSURES}
    values = {name: _measured(name, seen) for name, seen in parts.items() if seen is not None}
    values |= {name: missing(NOT_KNOWN) for name in _PRESSURES[:2] if name not in values}
    told = "".join([f" {VITAL_SIGNS[name]}: {value.words}." for name, value in values.items()])
    where = "" if position is None else f" {BODY_POSITIONS[position]}."
    code = _concept(site, "blood_pressure")
    more = More(
        component=tuple([_component(site, name, value) for name, value in values.items()]),
        extension=() if position is None else (_in_position(site, position),),
        words=where + told,
    )
    return frame.member(finding, code, Value(), more, _CATEGORY, _PROFILE)


def _orthostatic(frame: Frame, taken: Orthostatic) -> Observation:
    change = taken.standing.systolic_mmhg - taken.lying.systolic_mmhg
    told = f"Systolic pressure after standing up: {change:+d} mmHg."
    more = More(
        has_member=tuple([frame.reference(one) for one in (_BEFORE, STANDING_PRESSURE, _MINUTES)]),
        note=(Annotation(told),),
        words=f" {told}",
    )
    code = _concept(frame.site, "orthostatic")
    return frame.member(_ORTHOSTATIC, code, Value(), more, _CATEGORY, _PROFILE)


def _component(site: Site, name: str, value: Value) -> Component:
    return Component(
        code=_concept(site, name),
        value_quantity=value.quantity,
        data_absent_reason=value.absent,
    )


def _in_position(site: Site, position: str) -> Extension:
    concept = site.concept("body_position", position, BODY_POSITIONS[position])
    return Extension(url=_POSITION, value_codeable_concept=concept)


def _concept(site: Site, name: str) -> CodeableConcept:
    return site.concept("vital_sign", name, VITAL_SIGNS[name])


def _measured(name: str, seen: Decimal | int) -> Value:
    unit = unit_of(name)
    if unit is None:
        raise ValueError(f"{sentence(name)} has no unit.")
    return measured(quantity(seen, unit))
