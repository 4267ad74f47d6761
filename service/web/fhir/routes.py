"""Which addresses does the FHIR interface have? Every one; the CapabilityStatement reads this."""

from typing import NamedTuple

from service.web import smart
from service.web.operation import Handler
from service.web.scopes import Needs


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


ROUTES: tuple[Route, ...] = (Route("GET", smart.PATH, smart.smart_configuration, open=True),)
