"""Which FHIR resources go out, and with which elements?"""

from datetime import date, datetime

from service.fhir.standing_resources import Flag, Goal, Task
from service.fhir.structs import (
    Annotation,
    CodeableConcept,
    Coding,
    Element,
    Extension,
    HumanName,
    Identifier,
    Period,
    Quantity,
    Range,
    Reference,
    Resource,
)


class PatientLink(Element, frozen=True):
    other: Reference
    type: str


class Patient(Resource, frozen=True, kw_only=True, tag=True):
    identifier: tuple[Identifier, ...]
    active: bool | None = None
    name: tuple[HumanName, ...] = ()
    gender: str | None = None
    birth_date: date | None = None
    link: tuple[PatientLink, ...] = ()


class Answer(Element, frozen=True, kw_only=True):
    """Exactly one value."""

    value_boolean: bool | None = None
    value_integer: int | None = None
    value_date: date | None = None
    value_date_time: datetime | None = None
    value_string: str | None = None
    value_uri: str | None = None
    value_coding: Coding | None = None
    value_quantity: Quantity | None = None


class ResponseItem(Element, frozen=True, kw_only=True):
    """A question with its answers, or a group with its items, never both."""

    link_id: str
    text: str
    answer: tuple[Answer, ...] = ()
    item: tuple["ResponseItem", ...] = ()


class QuestionnaireResponse(Resource, frozen=True, kw_only=True, tag=True):
    identifier: Identifier
    questionnaire: str
    status: str
    subject: Reference
    encounter: Reference | None = None
    authored: datetime
    author: Reference | None = None
    source: Reference | None = None
    item: tuple[ResponseItem, ...] = ()


class ReferenceRange(Element, frozen=True, kw_only=True):
    """``low`` and ``high`` belong to the range themselves."""

    low: Quantity | None = None
    high: Quantity | None = None
    applies_to: tuple[CodeableConcept, ...] = ()
    age: Range | None = None
    text: str


class Component(Element, frozen=True, kw_only=True):
    code: CodeableConcept
    value_codeable_concept: CodeableConcept | None = None
    value_quantity: Quantity | None = None
    value_boolean: bool | None = None
    value_integer: int | None = None
    data_absent_reason: CodeableConcept | None = None
    interpretation: tuple[CodeableConcept, ...] = ()
    reference_range: tuple[ReferenceRange, ...] = ()


class Observation(Resource, frozen=True, kw_only=True, tag=True):
    extension: tuple[Extension, ...] = ()
    identifier: tuple[Identifier, ...]
    status: str
    category: tuple[CodeableConcept, ...]
    code: CodeableConcept
    subject: Reference
    encounter: Reference | None = None
    effective_date_time: datetime
    issued: datetime
    performer: tuple[Reference, ...] = ()
    value_codeable_concept: CodeableConcept | None = None
    value_quantity: Quantity | None = None
    value_boolean: bool | None = None
    value_integer: int | None = None
    data_absent_reason: CodeableConcept | None = None
    interpretation: tuple[CodeableConcept, ...] = ()
    note: tuple[Annotation, ...] = ()
    reference_range: tuple[ReferenceRange, ...] = ()
    has_member: tuple[Reference, ...] = ()
    derived_from: tuple[Reference, ...] = ()
    component: tuple[Component, ...] = ()


class ActivityDetail(Element, frozen=True, kw_only=True):
    """What is done for one move. There is no ``doNotPerform`` here, on purpose: whoever drops
    a modifier would show a forbidden method as a thing to do."""

    extension: tuple[Extension, ...] = ()
    instantiates_canonical: tuple[str, ...] = ()
    code: CodeableConcept
    reason_code: tuple[CodeableConcept, ...] = ()
    reason_reference: tuple[Reference, ...] = ()
    status: str
    scheduled_period: Period
    description: str


class Activity(Element, frozen=True):
    """Always a detail, never a reference to a request: requests look like orders."""

    detail: ActivityDetail


class CarePlan(Resource, frozen=True, kw_only=True, tag=True):
    identifier: tuple[Identifier, ...]
    instantiates_canonical: tuple[str, ...]
    replaces: tuple[Reference, ...] = ()
    status: str
    intent: str
    category: tuple[CodeableConcept, ...]
    title: str
    description: str
    subject: Reference
    encounter: Reference | None = None
    period: Period
    created: datetime
    author: Reference | None = None
    contributor: tuple[Reference, ...] = ()
    supporting_info: tuple[Reference, ...] = ()
    goal: tuple[Reference, ...] = ()
    activity: tuple[Activity, ...] = ()
    note: tuple[Annotation, ...] = ()


class DeviceName(Element, frozen=True):
    name: str
    type: str


class DeviceVersion(Element, frozen=True):
    type: CodeableConcept
    value: str


class Device(Resource, frozen=True, kw_only=True, tag=True):
    """The software that made the plan."""

    identifier: tuple[Identifier, ...]
    device_name: tuple[DeviceName, ...]
    version: tuple[DeviceVersion, ...]


class Agent(Element, frozen=True):
    type: CodeableConcept
    who: Reference


class Entity(Element, frozen=True):
    role: str
    what: Reference


class Provenance(Resource, frozen=True, kw_only=True, tag=True):
    contained: tuple[Device, ...] = ()
    target: tuple[Reference, ...]
    occurred_date_time: datetime
    recorded: datetime
    reason: tuple[CodeableConcept, ...] = ()
    activity: CodeableConcept
    agent: tuple[Agent, ...]
    entity: tuple[Entity, ...]


class Issue(Element, frozen=True, kw_only=True):
    severity: str
    code: str
    details: CodeableConcept
    expression: tuple[str, ...] = ()


class OperationOutcome(Resource, frozen=True, kw_only=True, tag=True):
    issue: tuple[Issue, ...]


AnyResource = (
    Patient
    | QuestionnaireResponse
    | Observation
    | CarePlan
    | Goal
    | Flag
    | Task
    | Device
    | Provenance
    | OperationOutcome
)


class Link(Element, frozen=True):
    relation: str
    url: str


class SearchMode(Element, frozen=True):
    mode: str


class Entry(Element, frozen=True, kw_only=True):
    full_url: str
    resource: AnyResource
    search: SearchMode | None = None


class Bundle(Resource, frozen=True, kw_only=True, tag=True):
    identifier: Identifier | None = None
    type: str
    timestamp: datetime | None = None
    total: int | None = None
    link: tuple[Link, ...] = ()
    entry: tuple[Entry, ...] = ()
