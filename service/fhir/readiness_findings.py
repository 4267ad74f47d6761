"""How does the readiness to be moved become Observations?"""

from service.domain.readiness import Cooperation, Instructions, Symptom
from service.fhir.codes import NOT_KNOWN, SURVEY
from service.fhir.observation import (
    NOTHING_MORE,
    Frame,
    More,
    Value,
    coded,
    finding_id,
    missing,
)
from service.fhir.resources import Component, Observation
from service.fhir.site import Site
from service.fhir.text import sentence
from service.fhir.units import quantity

_RASS = "Richmond Agitation-Sedation Scale"
_UNASKED = missing(NOT_KNOWN)


def readiness_findings(frame: Frame) -> list[Observation]:
    """Alertness, instructions and cooperation always; the rest where it was recorded."""
    ready = frame.record.content.readiness
    found = [
        _finding(frame, "rass", _RASS, _integer(ready.rass)),
        _finding(frame, "instructions", "Instructions followed", _word(frame, ready.instructions)),
        _finding(frame, "cooperation", "Cooperation", _word(frame, ready.cooperation)),
    ]
    if ready.anaesthetised:
        value = Value(words="yes", boolean=True)
        found.append(_finding(frame, "anaesthetised", "Anaesthetised", value))
    if ready.pain_0_10 is not None:
        seen = ready.pain_0_10
        pain = Value(words=str(seen), quantity=quantity(seen, "{score}"))
        found.append(_finding(frame, "pain_0_10", "Pain, 0 to 10", pain))
    if ready.symptoms:
        told = ", ".join([sentence(one.value).lower() for one in ready.symptoms])
        parts = tuple([_symptom(frame.site, one) for one in ready.symptoms])
        more = More(component=parts)
        found.append(_finding(frame, "symptoms", "Symptoms", Value(words=told), more))
    return found


def _finding(
    frame: Frame, name: str, title: str, value: Value, more: More = NOTHING_MORE
) -> Observation:
    code = frame.site.concept("readiness", name, title)
    return frame.member(finding_id("ready", name), code, value, more, (SURVEY,))


def _integer(seen: int | None) -> Value:
    return _UNASKED if seen is None else Value(words=str(seen), integer=seen)


def _word(frame: Frame, seen: Instructions | Cooperation | None) -> Value:
    if seen is None:
        return _UNASKED
    kind = type(seen).__name__.lower()
    return coded(frame.site.concept(kind, seen.value, sentence(seen.value)))


def _symptom(site: Site, symptom: Symptom) -> Component:
    return Component(
        code=site.concept("component", "symptom", "Symptom"),
        value_codeable_concept=site.concept("symptom", symptom.value, sentence(symptom.value)),
    )
