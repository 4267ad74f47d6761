"""By what is the audit trail searched? Each condition is asked of the entry as it was written."""

from collections.abc import Callable, Mapping

from service.application.trail_ports import Noted
from service.fhir.audit_codes import deed_of, outcome_of
from service.fhir.audit_event import credential_of
from service.fhir.search_dates import Span, span_of
from service.fhir.search_parameters import PARAMETERS, STATUS, Parameter
from service.fhir.search_tokens import Codes, status_codes

AUDIT_EVENT = "AuditEvent"
AGENT, ENTITY = "agent", "entity"


def _at(noted: Noted) -> Span:
    return span_of(noted.at)


def _action(noted: Noted) -> Codes:
    return status_codes(f"{STATUS}audit-event-action", deed_of(noted.action).action)


def _outcome(noted: Noted) -> Codes:
    return status_codes(f"{STATUS}audit-event-outcome", outcome_of(noted.outcome))


def _type(noted: Noted) -> Codes:
    told = deed_of(noted.action).type
    return ((told.system, told.code),)


def _subtype(noted: Noted) -> Codes:
    return tuple((one.system, one.code) for one in deed_of(noted.action).subtype)


def _credential(noted: Noted) -> Codes:
    return (("", credential_of(noted)),)


def _token(name: str, text: str, codes: Callable[[Noted], Codes]) -> Parameter:
    return Parameter(kind="token", definition=f"AuditEvent-{name}", text=text, codes=codes)


AUDIT: Mapping[str, Parameter] = {
    "_id": Parameter(kind="token", definition="Resource-id", text="The id of the resource."),
    "_lastUpdated": Parameter(
        kind="date", definition="Resource-lastUpdated", text="When it was noted.", span=_at
    ),
    "date": Parameter(
        kind="date",
        definition="AuditEvent-date",
        text="When it was noted.",
        span=_at,
        order=True,
    ),
    AGENT: Parameter(
        kind="reference",
        definition="AuditEvent-agent",
        text="Who did it: agent:identifier=system|id of the credential, or the id alone.",
        codes=_credential,
    ),
    "altid": _token("altid", "Who did it: the id of the credential.", _credential),
    ENTITY: Parameter(
        kind="reference",
        definition="AuditEvent-entity",
        text="What was done something to: Patient/id, QuestionnaireResponse/id, CarePlan/id.",
    ),
    "patient": Parameter(
        kind="reference",
        definition="AuditEvent-patient",
        text="Whose data, under any id that was merged: an id, Patient/id, or by business"
        " identifier as patient:identifier=system|value.",
    ),
    "action": _token("action", "C, R, U, D or E.", _action),
    "outcome": _token("outcome", "0 done, 4 refused, 8 failed.", _outcome),
    "type": _token("type", "What kind of event it was.", _type),
    "subtype": _token("subtype", "Which interaction it was, such as read or create.", _subtype),
}

SEARCHED: Mapping[str, Mapping[str, Parameter]] = {**PARAMETERS, AUDIT_EVENT: AUDIT}
"""By type: everything that can be searched, the record and the trail of it."""
