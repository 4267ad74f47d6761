"""How are the reasons for a method, and those against it, said in words and codes?"""

from collections.abc import Iterable

from service.domain.axis import Axis
from service.domain.reason import Reason, Status
from service.fhir.axis_findings import axis_finding
from service.fhir.site import Site
from service.fhir.structs import CodeableConcept, Reference
from service.fhir.text import tidy, words

_SAID = {
    Status.MET: "",
    Status.UNMET: "Not met: ",
    Status.UNKNOWN: "Not known: ",
    Status.FORBIDDEN: "Against it: ",
    Status.MISSING: "Missing: ",
}
_AXES = {axis.value: axis_finding(axis) for axis in Axis}


def reason_words(reason: Reason) -> str:
    """One that stands against a method does not read like one for it."""
    seen, required = words(reason.seen), words(reason.required)
    return f"{_SAID[reason.status]}{reason.why.rstrip('.')}. Seen: {seen}. Required: {required}."


def reason_code(site: Site, reason: Reason) -> CodeableConcept:
    """The rule, with what was seen and what it requires."""
    rule = site.concept("rule", reason.rule, reason.why)
    return CodeableConcept(rule.coding, tidy(reason_words(reason)))


def evidence(screen: str, reasons: Iterable[Reason]) -> tuple[Reference, ...]:
    """The derived Observations of ``screen`` that the reasons are about, each once."""
    about = dict.fromkeys([one.about for one in reasons if one.about in _AXES])
    return tuple([Reference(reference=f"Observation/{screen}-{_AXES[axis]}") for axis in about])
