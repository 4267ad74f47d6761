"""How does the derived capability, axis by axis, become Observations?"""

from service.domain.axis import UNKNOWN, Axis, Number
from service.domain.profile import Finding, Profile
from service.fhir.codes import NOT_KNOWN
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
from service.fhir.structs import Annotation
from service.fhir.text import tidy
from service.fhir.units import quantity

_UNKNOWN = missing(NOT_KNOWN)
_LIFT = "Mass that one helper would have to hold up"


def axis_finding(axis: Axis) -> str:
    """The finding under which an axis is told."""
    return finding_id("axis", axis.value)


def axis_findings(frame: Frame, profile: Profile) -> list[Observation]:
    """One Observation an axis, each with what set its grade, and the helper's load if known."""
    site = frame.site
    found = []
    for axis, graded in profile.axes.items():
        file = site.book.axes[axis]
        code = site.concept("axis", axis.value, file.title)
        value = _UNKNOWN
        if graded.grade != UNKNOWN:
            told = file.grades[graded.grade]
            value = coded(site.concept(f"grade-{axis.value}", graded.grade, told))
        found.append(frame.member(axis_finding(axis), code, value, _set_by(graded.set_by)))
    lift = profile.numbers.get(Number.HELPER_LIFT_KG)
    if lift is not None and lift.value is not None:
        code = site.concept("number", Number.HELPER_LIFT_KG.value, _LIFT)
        value = measured(quantity(lift.value, "kg"))
        finding = finding_id("number", "helper_lift")
        found.append(frame.member(finding, code, value, _set_by(lift.set_by)))
    return found


def _set_by(findings: tuple[Finding, ...]) -> More:
    if not findings:
        return NOTHING_MORE
    told = "Set by " + "; ".join(
        [
            f"{one.path} = {one.seen} (rule {one.rule}, {one.source}, {one.standing.value})"
            for one in findings
        ]
    )
    return More(note=(Annotation(tidy(f"{told}.")),), words=f" {told}.")
