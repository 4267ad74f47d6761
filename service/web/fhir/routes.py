"""Which addresses does the FHIR interface have? Every one; the CapabilityStatement reads this."""

from typing import NamedTuple

from service.web import smart
from service.web.fhir import write
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

ROUTES: tuple[Route, ...] = (
    Route("GET", smart.PATH, smart.smart_configuration, open=True),
    *_WRITES,
)
