"""How does the derived capability, axis by axis, become Observations?"""

from collections.abc import Set as AbstractSet

from service.domain.axis import UNKNOWN, Axis, Number
from service.domain.profile import Finding, Profile
from service.fhir.codes import NOT_KNOWN
from service.fhir.evidence import finding_at
from service.fhir.observation import (
    NOTHING_MORE,
    Frame,
    More,
    coded,
    finding_id,
    measured,
    missing,
)
from service.fhir.resources import Observation
from service.fhir.structs import Annotation, Reference
from service.fhir.text import tidy
from service.fhir.units import quantity

_UNKNOWN = missing(NOT_KNOWN)
_LIFT = "Mass that one helper would have to hold up"


def axis_finding(axis: Axis) -> str:
    """The finding under which an axis is told."""
    return finding_id("axis", axis.value)


def axis_findings(
    frame: Frame, profile: Profile, told: AbstractSet[str] = frozenset()
) -> list[Observation]:
    """One Observation an axis, each with what set its grade, and the helper's load if known.

    ``told``: the findings that the screen is told in; a derived one names those it rests on.
    """
    site = frame.site
    found = []
    for axis, graded in profile.axes.items():
        file = site.book.axes[axis]
        code = site.concept("axis", axis.value, file.title)
        value = _UNKNOWN
        if graded.grade != UNKNOWN:
            words = file.grades[graded.grade]
            value = coded(site.concept(f"grade-{axis}", graded.grade, words))
        found.append(
            frame.member(axis_finding(axis), code, value, _set_by(frame, graded.set_by, told))
        )
    lift = profile.numbers.get(Number.HELPER_LIFT_KG)
    if lift is not None and lift.value is not None:
        code = site.concept("number", Number.HELPER_LIFT_KG.value, _LIFT)
        value = measured(quantity(lift.value, "kg"))
        finding = finding_id("number", "helper_lift")
        found.append(frame.member(finding, code, value, _set_by(frame, lift.set_by, told)))
    return found


def _set_by(frame: Frame, findings: tuple[Finding, ...], told: AbstractSet[str]) -> More:
    if not findings:
        return NOTHING_MORE
    words = "Set by " + "; ".join(
        [
            f"{one.path} = {one.seen} (rule {one.rule}, {one.source}, {one.standing})"
            for one in findings
        ]
    )
    return More(
        note=(Annotation(tidy(f"{words}.")),),
        derived_from=_rests_on(frame, findings, told),
        words=f" {words}.",
    )


def _rests_on(
    frame: Frame, findings: tuple[Finding, ...], told: AbstractSet[str]
) -> tuple[Reference, ...]:
    """The Observations of what set a grade, each once."""
    screen = frame.record.content
    named: list[Reference] = []
    for one in findings:
        at = finding_at(screen, one.path)
        if at is not None and at in told:
            reference = frame.reference(at)
            if reference not in named:
                named.append(reference)
    return tuple(named)
