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
    asks for no credential at all.
    """

    method: str
    path: str
    handler: Handler
    needs: Needs = ()
    open: bool = False


_SCREEN = "QuestionnaireResponse"
_WRITES: tuple[Route, ...] = (
    Route("POST", "", write.post_bundle),
    Route("POST", "/$screen", write.screen_operation, needs(_SCREEN, "c")),
    Route("POST", f"/{_SCREEN}", write.create_response, needs(_SCREEN, "c")),
    Route("PUT", f"/{_SCREEN}", write.update_response_by_query, needs(_SCREEN, "cu")),
    Route("POST", f"/{_SCREEN}/$screen", write.screen_operation, needs(_SCREEN, "c")),
    Route("PUT", f"/{_SCREEN}/{{id}}", write.update_response, needs(_SCREEN, "u")),
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
    return (
        Route("GET", f"/{kind}/{{id}}", read(kind), reading),
        Route("GET", f"/{kind}/{{id}}/_history", history(kind), reading),
        Route(
            "GET",
            f"/{kind}/{{id}}/_history/{{version}}",
            read_version(kind, MOST_VERSIONS),
            reading,
        ),
        Route("GET", f"/{kind}", search(kind), searching),
        Route("POST", f"/{kind}/_search", search(kind), searching),
    )


def _published(kind: str) -> tuple[Route, ...]:
    """A type that the service publishes about itself."""
    return (
        Route("GET", f"/{kind}/{{id}}", read_definition, needs(kind, "r")),
        Route("GET", f"/{kind}", search_definitions, needs(kind, "s")),
    )


_TRAIL = "AuditEvent"
_TRAILS: tuple[Route, ...] = (
    Route("GET", f"/{_TRAIL}/{{id}}", audit_events.read_event, needs(_TRAIL, "r")),
    Route("GET", f"/{_TRAIL}", audit_events.search_events, needs(_TRAIL, "s")),
    Route("POST", f"/{_TRAIL}/_search", audit_events.search_events, needs(_TRAIL, "s")),
)
"""What is noted of every access; its scope has to be named."""

_LOOKS: tuple[Route, ...] = (
    *(Route("POST", f"/{kind}/$validate", validate.validate_type) for kind in validate.TYPES),
    *(
        Route(method, f"/{kind}/{{id}}/$validate", validate.validate_instance)
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
