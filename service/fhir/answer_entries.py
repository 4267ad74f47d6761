"""What does a transaction or batch answer, one entry for each that was asked?"""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, Literal

import msgspec

from service.domain.record import Answer
from service.fhir.narrative import bullets, narrative
from service.fhir.resources import Issue, OperationOutcome
from service.fhir.structs import CodeableConcept, Element, Resource


class EntryResponse(Element, frozen=True, kw_only=True):
    """``status``: the HTTP status and its name. ``outcome``: an OperationOutcome."""

    status: str
    location: str | None = None
    etag: str | None = None
    last_modified: datetime | None = None
    outcome: Any = None


class AnsweredEntry(Element, frozen=True, kw_only=True):
    """``resource``: a resource, or one that is written already."""

    full_url: str | None = None
    resource: Resource | msgspec.Raw | None = None
    response: EntryResponse


class AnsweredBundle(Resource, frozen=True, kw_only=True, tag="Bundle"):
    """A Bundle of answers."""

    type: Literal["transaction-response", "batch-response"]
    entry: tuple[AnsweredEntry, ...] = ()


def answered_bundle(kind: str, entries: Iterable[AnsweredEntry]) -> AnsweredBundle:
    """The answer to a Bundle of ``kind``."""
    told: Literal["transaction-response", "batch-response"] = (
        "transaction-response" if kind == "transaction" else "batch-response"
    )
    return AnsweredBundle(type=told, entry=tuple(entries))


def made_outcome(answer: Answer) -> OperationOutcome:
    """What was made or found, each by its id."""
    screen, plan = answer.screen, answer.plan
    named = (
        f"QuestionnaireResponse/{screen.id}/_history/{screen.version}",
        f"Patient/{screen.patient_id}",
        f"CarePlan/{plan.id}",
    )
    issues = tuple(
        [
            Issue(severity="information", code="informational", details=CodeableConcept(text=one))
            for one in named
        ]
    )
    return OperationOutcome(text=narrative(bullets("Kept", named)), issue=issues)
