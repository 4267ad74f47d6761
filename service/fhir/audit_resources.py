"""How is an entry of the audit trail told as FHIR, and with which elements?"""

from datetime import datetime

from service.fhir.structs import Coding, Element, Reference, Resource


class AuditAgent(Element, frozen=True, kw_only=True):
    """``requestor`` has no default, or it were not told."""

    who: Reference
    alt_id: str | None = None
    name: str | None = None
    requestor: bool


class AuditSource(Element, frozen=True, kw_only=True):
    observer: Reference
    type: tuple[Coding, ...] = ()


class AuditEntity(Element, frozen=True, kw_only=True):
    what: Reference
    type: Coding | None = None
    role: Coding | None = None


class AuditEvent(Resource, frozen=True, kw_only=True, tag=True):
    type: Coding
    subtype: tuple[Coding, ...] = ()
    action: str
    recorded: datetime
    outcome: str
    outcome_desc: str | None = None
    agent: tuple[AuditAgent, ...]
    source: AuditSource
    entity: tuple[AuditEntity, ...] = ()
