"""How do the stages of a screen become Observations?"""

from collections.abc import Callable
from typing import Any

from service.domain.stages import (
    Attempt,
    KneeExtension,
    KneeStrength,
    Outcome,
    Rise,
    Sides,
    SittingBalance,
    Stage,
    TimedStand,
)
from service.fhir.codes import NOT_PERFORMED
from service.fhir.observation import Frame, More, Value, coded, finding_id, measured, missing
from service.fhir.resources import Component, Observation
from service.fhir.site import Site
from service.fhir.structs import CodeableConcept
from service.fhir.text import sentence
from service.fhir.units import quantity

SIDES = ("left", "right")
_Parts = list[tuple[str, Value]]


def stage_findings(frame: Frame) -> list[Observation]:
    """One Observation a stage, in the order of the stages, its sides and signs as components."""
    site = frame.site
    stages = frame.record.content.stages
    found = []
    for stage in Stage:
        result = getattr(stages, stage.value)
        value, parts = _READ[type(result)](site, result)
        parts += _signs(frame, stage)
        code = site.concept("stage", stage.value, site.book.stages[stage.value].title)
        more = More(
            component=tuple([_component(site, name, part) for name, part in parts]),
            words="".join([f" {sentence(name)}: {part.words}." for name, part in parts]),
        )
        found.append(frame.member(finding_id("stage", stage.value), code, value, more))
    return found


def _component(site: Site, name: str, value: Value) -> Component:
    return Component(
        code=site.concept("component", name, sentence(name)),
        value_codeable_concept=value.concept,
        value_quantity=value.quantity,
        value_boolean=value.boolean,
        value_integer=value.integer,
        data_absent_reason=value.absent,
    )


def _signs(frame: Frame, stage: Stage) -> _Parts:
    seen = frame.record.content.signs
    return [
        ("sign_seen", coded(_said(frame.site, "sign", one.sign.value)))
        for one in seen
        if one.stage == stage
    ]


def _said(site: Site, kind: str, code: str) -> CodeableConcept:
    return site.concept(kind, code, sentence(code))


def _outcome(site: Site, outcome: Outcome) -> Value:
    if outcome == Outcome.NOT_ATTEMPTED:
        return missing(NOT_PERFORMED)
    return coded(_said(site, "outcome", outcome.value))


def _help(site: Site, attempt: Attempt | SittingBalance | Rise, side: str = "") -> _Parts:
    parts: _Parts = []
    if attempt.help is not None:
        parts.append((f"{side}help", coded(_said(site, "help", attempt.help.value))))
    if attempt.lift_kg is not None:
        parts.append((f"{side}lift_held", measured(quantity(attempt.lift_kg, "kg"))))
    if attempt.lift_percent is not None:
        parts.append((f"{side}share_held", measured(quantity(attempt.lift_percent, "%"))))
    return parts


def _attempt(site: Site, result: Attempt) -> tuple[Value, _Parts]:
    return _outcome(site, result.outcome), _help(site, result)


def _sitting(site: Site, result: SittingBalance) -> tuple[Value, _Parts]:
    parts = _help(site, result)
    if result.seconds is not None:
        parts.append(("time_held", measured(quantity(result.seconds, "s"))))
    return _outcome(site, result.outcome), parts


def _rise(site: Site, result: Rise) -> tuple[Value, _Parts]:
    parts = _help(site, result)
    if result.hands_used is not None:
        word = "yes" if result.hands_used else "no"
        parts.append(("hands_used", Value(words=word, boolean=result.hands_used)))
    return _outcome(site, result.outcome), parts


def _by_side(values: dict[str, Value], parts: _Parts) -> tuple[Value, _Parts]:
    """The sides say it all; where none was tried the stage itself says so."""
    if all(value.absent for value in values.values()):
        return missing(NOT_PERFORMED), []
    return Value(), [*values.items(), *parts]


def _sides(site: Site, result: Sides) -> tuple[Value, _Parts]:
    pair = {side: getattr(result, side) for side in SIDES}
    values = {side: _outcome(site, attempt.outcome) for side, attempt in pair.items()}
    parts = [part for side, one in pair.items() for part in _help(site, one, f"{side}_")]
    return _by_side(values, parts)


def _strength(result: KneeStrength) -> Value:
    if result.mrc_grade is None:
        return missing(NOT_PERFORMED)
    return Value(words=f"MRC grade {result.mrc_grade}", integer=result.mrc_grade)


def _knees(_: Site, result: KneeExtension) -> tuple[Value, _Parts]:
    return _by_side({"left": _strength(result.left), "right": _strength(result.right)}, [])


def _timed(site: Site, result: TimedStand) -> tuple[Value, _Parts]:
    if result.seconds is None:
        return missing(NOT_PERFORMED), []
    ended = result.ended_by
    parts: _Parts = []
    if ended is not None:
        parts.append(("ended_by", coded(_said(site, "stand-end", ended.value))))
    return measured(quantity(result.seconds, "s")), parts


_READ: dict[type, Callable[[Site, Any], tuple[Value, _Parts]]] = {
    Attempt: _attempt,
    SittingBalance: _sitting,
    Rise: _rise,
    Sides: _sides,
    KneeExtension: _knees,
    TimedStand: _timed,
}
