"""Of which elements are plan, activity and operation definitions made?"""

from service.fhir.definitions.heads import Definition
from service.fhir.structs import CodeableConcept, Element


class RelatedArtifact(Element, frozen=True, kw_only=True):
    type: str
    label: str
    display: str
    citation: str


class ActivityDefinition(Definition, frozen=True, kw_only=True, tag=True):
    """No ``kind``: nothing is ordered by it."""

    usage: str
    related_artifact: tuple[RelatedArtifact, ...]
    code: CodeableConcept


class PlanGoal(Element, frozen=True, kw_only=True):
    description: CodeableConcept


class Action(Element, frozen=True, kw_only=True):
    title: str
    description: str
    code: tuple[CodeableConcept, ...]
    documentation: tuple[RelatedArtifact, ...] = ()
    grouping_behavior: str | None = None
    selection_behavior: str | None = None
    definition_canonical: str | None = None
    action: tuple["Action", ...] = ()


class PlanDefinition(Definition, frozen=True, kw_only=True, tag=True):
    type: CodeableConcept
    usage: str
    related_artifact: tuple[RelatedArtifact, ...]
    goal: tuple[PlanGoal, ...]
    action: tuple[Action, ...]


class Parameter(Element, frozen=True, kw_only=True):
    name: str
    use: str
    min: int
    max: str
    documentation: str
    type: str


class OperationDefinition(Definition, frozen=True, kw_only=True, tag=True):
    kind: str
    affects_state: bool
    code: str
    comment: str
    resource: tuple[str, ...]
    system: bool
    type: bool
    instance: bool
    parameter: tuple[Parameter, ...]
