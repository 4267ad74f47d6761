"""Which addresses does the FHIR interface have? Every one; the CapabilityStatement reads this."""

from typing import NamedTuple

from service.fhir.search_parameters import PARAMETERS
from service.web import smart
from service.web.fhir import audit_events, validate, write
from service.web.fhir.capability import metadata
from service.web.fhir.definitions import read_definition, search_definitions
from service.web.fhir.history import MOST_VERSIONS, history
from service.web.fhir.read import read, read_version
from service.web.fhir.search import search
from service.web.operation import Handler
from service.web.scopes import Needs, needs


class Route(NamedTuple):
    """One method of one address below ``/fhir/R4``; ``{...}`` stands for one part of it.

    GET answers HEAD as well. ``needs``: the scopes without which it answers 403; ``open``: it
    asks for no credential at all. ``deed``: what the audit trail calls it where it touches a
    patient's data, or the trail itself.
    """

    method: str
    path: str
    handler: Handler
    needs: Needs = ()
    open: bool = False
    deed: str = ""


_SCREEN = "QuestionnaireResponse"
_RECORD, _CORRECT = "screen.record", "screen.correct"
_WRITES: tuple[Route, ...] = (
    Route("POST", "", write.post_bundle, deed="batch.post"),
    Route("POST", "/$screen", write.screen_operation, needs(_SCREEN, "c"), deed=_RECORD),
    Route("POST", f"/{_SCREEN}", write.create_response, needs(_SCREEN, "c"), deed=_RECORD),
    Route(
        "PUT", f"/{_SCREEN}", write.update_response_by_query, needs(_SCREEN, "cu"), deed=_CORRECT
    ),
    Route("POST", f"/{_SCREEN}/$screen", write.screen_operation, needs(_SCREEN, "c"), deed=_RECORD),
    Route("PUT", f"/{_SCREEN}/{{id}}", write.update_response, needs(_SCREEN, "u"), deed=_CORRECT),
)
"""A Bundle is asked entry by entry what it needs."""

DEFINITIONS = (
    "ActivityDefinition",
    "CodeSystem",
    "ConceptMap",
    "OperationDefinition",
    "PlanDefinition",
    "Questionnaire",
    "SearchParameter",
    "StructureDefinition",
    "ValueSet",
)


def _records(kind: str) -> tuple[Route, ...]:
    """A type that is made from what was recorded."""
    reading, searching = needs(kind, "r"), needs(kind, "s")
    one, deed = f"/{kind}/{{id}}", kind.lower()
    version = read_version(kind, MOST_VERSIONS)
    return (
        Route("GET", one, read(kind), reading, deed=f"{deed}.read"),
        Route("GET", f"{one}/_history", history(kind), reading, deed=f"{deed}.history"),
        Route("GET", f"{one}/_history/{{version}}", version, reading, deed=f"{deed}.vread"),
        Route("GET", f"/{kind}", search(kind), searching, deed=f"{deed}.search"),
        Route("POST", f"/{kind}/_search", search(kind), searching, deed=f"{deed}.search"),
    )


def _published(kind: str) -> tuple[Route, ...]:
    """A type that the service publishes about itself."""
    return (
        Route("GET", f"/{kind}/{{id}}", read_definition, needs(kind, "r")),
        Route("GET", f"/{kind}", search_definitions, needs(kind, "s")),
        Route("POST", f"/{kind}/_search", search_definitions, needs(kind, "s")),
    )


_TRAIL, _READ, _SOUGHT = "AuditEvent", "auditevent.read", "auditevent.search"
_SEEKING = needs(_TRAIL, "s")
_TRAILS: tuple[Route, ...] = (
    Route("GET", f"/{_TRAIL}/{{id}}", audit_events.read_event, needs(_TRAIL, "r"), deed=_READ),
    Route("GET", f"/{_TRAIL}", audit_events.search_events, _SEEKING, deed=_SOUGHT),
    Route("POST", f"/{_TRAIL}/_search", audit_events.search_events, _SEEKING, deed=_SOUGHT),
)
"""What is noted of every access; its scope has to be named."""

_LOOKS: tuple[Route, ...] = (
    *(
        Route("POST", f"/{kind}/$validate", validate.validate_type, deed=validate.deed_of(kind))
        for kind in validate.TYPES
    ),
    *(
        Route(
            method,
            f"/{kind}/{{id}}/$validate",
            validate.validate_instance,
            deed=validate.deed_of(kind),
        )
        for kind in validate.KEPT
        for method in ("GET", "POST")
    ),
)
"""Nothing is kept, and what is kept is read only where the caller may read it."""

ROUTES: tuple[Route, ...] = (
    Route("GET", "/metadata", metadata, open=True),
    Route("GET", smart.PATH, smart.smart_configuration, open=True),
    *[route for kind in PARAMETERS for route in _records(kind)],
    *[route for kind in DEFINITIONS for route in _published(kind)],
    *_WRITES,
    *_TRAILS,
    *_LOOKS,
)
