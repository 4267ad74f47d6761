"""What does an AuditEvent say of an entry in the audit trail? Never more than the entry."""

from collections.abc import Iterator

from service.application.trail_ports import Noted
from service.fhir.audit_codes import (
    OTHER,
    PATIENT,
    PERSON,
    RESOURCE,
    SERVER,
    deed_of,
    of_kind,
    outcome_of,
)
from service.fhir.audit_resources import AuditAgent, AuditEntity, AuditEvent, AuditSource
from service.fhir.narrative import said
from service.fhir.search_tokens import is_id
from service.fhir.site import Site
from service.fhir.structs import Identifier, Meta, Reference

AT_THE_KEYBOARD = "command-line"
"""Stands for the credential of a command, which has none."""


def audit_event_of(site: Site, noted: Noted) -> AuditEvent:
    """The same entry is always the same resource: nothing in the trail ever changes."""
    deed = deed_of(noted.action)
    outcome = outcome_of(noted.outcome)
    return AuditEvent(
        id=noted.id,
        meta=Meta(version_id="1", last_updated=noted.at),
        text=said(f"{noted.action}: {noted.outcome}."),
        type=deed.type,
        subtype=deed.subtype,
        action=deed.action,
        recorded=noted.at,
        outcome=outcome,
        outcome_desc=noted.outcome or None,
        agent=(_agent(site, noted),),
        source=AuditSource(observer=_service(site), type=(SERVER,)),
        entity=tuple(_entities(site, noted)),
    )


def credential_of(noted: Noted) -> str:
    return noted.credential or AT_THE_KEYBOARD


def resource_of(noted: Noted) -> tuple[str, str] | None:
    """Type and id of what was done something to, where the entry names it."""
    kind = deed_of(noted.action).kind
    if kind is None or noted.target is None or not is_id(noted.target):
        return None
    return kind, noted.target


def patients_of(noted: Noted) -> tuple[str, ...]:
    """The opaque ids of the patients that an entry names."""
    resource = resource_of(noted)
    joined = resource[1] if resource is not None and resource[0] == "Patient" else None
    named = (one for one in (noted.patient, joined) if one is not None and is_id(one))
    return tuple(dict.fromkeys(named))


def _agent(site: Site, noted: Noted) -> AuditAgent:
    credential = credential_of(noted)
    who = Identifier(site.identifier_system("credential"), credential)
    name = noted.name or None
    return AuditAgent(
        who=Reference(identifier=who, display=name), alt_id=credential, name=name, requestor=True
    )


def _service(site: Site) -> Reference:
    """The service as it is set up, whichever rule book it runs with."""
    return Reference(
        type="Device",
        identifier=Identifier(site.identifier_system("service"), site.base),
        display="Stanchion",
    )


def _entities(site: Site, noted: Noted) -> Iterator[AuditEntity]:
    patients = patients_of(noted)
    for patient in patients:
        what = Reference(reference=f"Patient/{patient}", type="Patient")
        yield AuditEntity(what=what, type=PERSON, role=PATIENT)
    resource = resource_of(noted)
    if resource is not None and resource[1] not in patients:
        kind, name = resource
        what = Reference(reference=f"{kind}/{name}", type=kind)
        yield AuditEntity(what=what, type=of_kind(kind), role=RESOURCE)
    elif resource is None and noted.target:
        what = Reference(identifier=Identifier(site.identifier_system("target"), noted.target))
        yield AuditEntity(what=what, type=OTHER)
    if noted.request_id:
        asked = Identifier(site.identifier_system("request"), noted.request_id)
        yield AuditEntity(what=Reference(identifier=asked), type=OTHER)
