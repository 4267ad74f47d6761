"""Which resources tell of a patient as a whole, and with which elements?"""

from datetime import date, datetime

from msgspec import field

from service.fhir.structs import (
    Annotation,
    CodeableConcept,
    Element,
    Extension,
    Identifier,
    Period,
    Quantity,
    Reference,
    Resource,
)


class GoalTarget(Element, frozen=True, kw_only=True):
    measure: CodeableConcept
    detail_quantity: Quantity | None = None
    detail_codeable_concept: CodeableConcept | None = None


class Goal(Resource, frozen=True, kw_only=True, tag=True):
    identifier: tuple[Identifier, ...]
    lifecycle_status: str
    achievement_status: CodeableConcept | None = None
    description: CodeableConcept
    subject: Reference
    start_date: date
    target: tuple[GoalTarget, ...]
    status_date: date
    status_reason: str | None = None
    note: tuple[Annotation, ...] = ()
    outcome_reference: tuple[Reference, ...] = ()


class Flag(Resource, frozen=True, kw_only=True, tag=True):
    extension: tuple[Extension, ...] = ()
    identifier: tuple[Identifier, ...]
    status: str
    category: tuple[CodeableConcept, ...]
    code: CodeableConcept
    subject: Reference
    period: Period
    encounter: Reference | None = None
    author: Reference


class Restriction(Element, frozen=True):
    period: Period


class TaskOutput(Element, frozen=True, kw_only=True):
    type: CodeableConcept
    value_reference: Reference


class Task(Resource, frozen=True, kw_only=True, tag=True):
    """``intent`` is plan: nothing here is an order."""

    identifier: tuple[Identifier, ...]
    status: str
    status_reason: CodeableConcept | None = None
    intent: str
    priority: str
    code: CodeableConcept
    description: str
    focus: Reference
    for_: Reference = field(name="for")
    encounter: Reference | None = None
    authored_on: datetime
    last_modified: datetime
    requester: Reference
    reason_code: CodeableConcept | None = None
    restriction: Restriction
    output: tuple[TaskOutput, ...] = ()
