"""By what can resources be searched? Read by the search itself and by the CapabilityStatement."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any

from msgspec import Struct

from service.fhir.resources import QuestionnaireResponse
from service.fhir.search_dates import Span, period_of, span_of
from service.fhir.search_tokens import Codes, codes_of, status_codes

DEFINITIONS = "http://hl7.org/fhir/SearchParameter/"
STATUS = "http://hl7.org/fhir/"


class Parameter(Struct, frozen=True, kw_only=True):
    """One search parameter. ``definition``: its canonical's last part; empty where it is one of
    our own. ``codes`` or ``span``:
    what a resource tells for it; with neither it says where to look instead of what for.
    ``order``: it can be sorted by."""

    kind: str
    definition: str
    text: str
    codes: Callable[[Any], Codes] | None = None
    span: Callable[[Any], Span] | None = None
    order: bool = False


def _changed(resource: Any) -> Span:
    changed: datetime = resource.meta.last_updated
    return span_of(changed)


def _status(system: str, element: str = "status") -> Callable[[Any], Codes]:
    return lambda resource: status_codes(STATUS + system, getattr(resource, element))


_ID = Parameter(kind="token", definition="Resource-id", text="The id of the resource.")
_LAST_UPDATED = Parameter(
    kind="date",
    definition="Resource-lastUpdated",
    text="When it last changed.",
    span=_changed,
)
_LISTED = Parameter(
    kind="date",
    definition="Resource-lastUpdated",
    text="When it last changed.",
    span=_changed,
    order=True,
)
_WHOSE = (
    "Whose: an id, Patient/id, or this service's address of the patient; or by business"
    " identifier as patient:identifier=system|value or patient.identifier=system|value."
)


def _patient(definition: str = "clinical-patient") -> Parameter:
    return Parameter(kind="reference", definition=definition, text=_WHOSE)


def _coded(definition: str, text: str, element: str) -> Parameter:
    def codes(resource: Any) -> Codes:
        told = getattr(resource, element)
        return codes_of(told if isinstance(told, tuple) else (told,))

    return Parameter(kind="token", definition=definition, text=text, codes=codes)


def _state(definition: str, system: str, element: str = "status") -> Parameter:
    codes = _status(system, element)
    return Parameter(kind="token", definition=definition, text="Its status.", codes=codes)


def _observed(resource: Any) -> Span:
    return span_of(resource.effective_date_time)


def _authored(resource: Any) -> Span:
    return span_of(resource.authored)


def _valid(resource: Any) -> Span:
    return period_of(resource.period.start, resource.period.end)


def _identified(resource: Any) -> Codes:
    return tuple((one.system, one.value) for one in resource.identifier)


def _response_identified(response: QuestionnaireResponse) -> Codes:
    """By our own identifier, and by the one that its sender gave."""
    sent = [
        _sent_as(answer.value_string)
        for item in response.item
        if item.link_id == "source_id"
        for answer in item.answer
        if answer.value_string is not None
    ]
    return ((response.identifier.system, response.identifier.value), *sent)


def _sent_as(source: str) -> tuple[str, str]:
    """The sender's identifier as it is kept: system|value, or a value alone."""
    system, bar, value = source.partition("|")
    return (system, value) if bar else ("", source)


PARAMETERS: Mapping[str, Mapping[str, Parameter]] = {
    "Patient": {
        "_id": _ID,
        "_lastUpdated": _LAST_UPDATED,
        "identifier": Parameter(
            kind="token",
            definition="Patient-identifier",
            text="A business identifier, system|value or value. Better sent by POST.",
        ),
    },
    "Observation": {
        "_id": _ID,
        "_lastUpdated": _LISTED,
        "patient": _patient(),
        "subject": _patient("Observation-subject"),
        "category": _coded("Observation-category", "Its category.", "category"),
        "code": _coded("clinical-code", "What was observed.", "code"),
        "date": Parameter(
            kind="date",
            definition="clinical-date",
            text="When it was observed.",
            span=_observed,
            order=True,
        ),
        "status": _state("Observation-status", "observation-status"),
    },
    "QuestionnaireResponse": {
        "_id": _ID,
        "_lastUpdated": _LISTED,
        "patient": _patient("QuestionnaireResponse-patient"),
        "subject": _patient("QuestionnaireResponse-subject"),
        "identifier": Parameter(
            kind="token",
            definition="QuestionnaireResponse-identifier",
            text="The identifier that is given here, or the one that its sender gave it.",
            codes=_response_identified,
        ),
        "authored": Parameter(
            kind="date",
            definition="QuestionnaireResponse-authored",
            text="When the person was screened.",
            span=_authored,
            order=True,
        ),
        "status": _state("QuestionnaireResponse-status", "questionnaire-answers-status"),
    },
    "CarePlan": {
        "_id": _ID,
        "_lastUpdated": _LISTED,
        "patient": _patient(),
        "subject": _patient("CarePlan-subject"),
        "category": _coded("CarePlan-category", "Its category.", "category"),
        "date": Parameter(
            kind="date",
            definition="clinical-date",
            text="While it is valid.",
            span=_valid,
            order=True,
        ),
        "status": _state("CarePlan-status", "request-status"),
    },
    "Goal": {
        "_id": _ID,
        "_lastUpdated": _LAST_UPDATED,
        "patient": _patient(),
        "lifecycle-status": _state("Goal-lifecycle-status", "goal-status", "lifecycle_status"),
    },
    "Flag": {"_id": _ID, "_lastUpdated": _LAST_UPDATED, "patient": _patient()},
    "Task": {
        "_id": _ID,
        "_lastUpdated": _LAST_UPDATED,
        "patient": _patient("Task-patient"),
        "status": _state("Task-status", "task-status"),
    },
    "Provenance": {
        "_id": _ID,
        "patient": Parameter(
            kind="reference",
            definition="",
            text=f"That tells of anything that is the patient's. {_WHOSE}",
        ),
        "target": Parameter(
            kind="reference",
            definition="Provenance-target",
            text="Of which Observation, CarePlan or other resource of a screen.",
        ),
    },
    "Device": {
        "_id": _ID,
        "identifier": Parameter(
            kind="token",
            definition="Device-identifier",
            text="The digest of the rule book.",
            codes=_identified,
        ),
    },
}
"""By resource type and name. ``date`` of what is observed once is sorted with the screens."""

PATIENTS = ("patient", "subject")
INCLUDES: Mapping[str, tuple[str, ...]] = {
    kind: tuple(f"{kind}:{name}" for name in PATIENTS if name in listed)
    for kind, listed in PARAMETERS.items()
    if kind != "Provenance"
}
"""By resource type: what may be brought along, always the patient."""
REV_INCLUDES: Mapping[str, tuple[str, ...]] = dict.fromkeys(
    ("Observation", "CarePlan"), ("Provenance:target",)
)
