"""Has every FHIR address one handler, and a scope that it needs?"""

from service.fhir.search_parameters import PARAMETERS
from service.web.application import fhir_handlers
from service.web.fhir.content import PREFIX
from service.web.fhir.instances import FIND
from service.web.fhir.routes import ROUTES

BY_ENTRY = {("POST", "")}
"""A Bundle is asked entry by entry."""


def test_every_address_is_routed_once() -> None:
    places = [(one.method, one.path) for one in ROUTES]
    assert len(places) == len(set(places))
    routed = {
        (method, path.replace(":str}", "}").removeprefix(PREFIX))
        for handler in fhir_handlers(ROUTES)
        for path in handler.paths
        for method in handler.http_methods
    }
    assert routed == set(places)


def test_every_type_that_is_kept_can_be_read_listed_and_searched() -> None:
    assert FIND.keys() == PARAMETERS.keys()
    places = {(one.method, one.path) for one in ROUTES}
    for kind in PARAMETERS:
        assert {
            ("GET", f"/{kind}/{{id}}"),
            ("GET", f"/{kind}/{{id}}/_history"),
            ("GET", f"/{kind}/{{id}}/_history/{{version}}"),
            ("GET", f"/{kind}"),
            ("POST", f"/{kind}/_search"),
        } <= places


def test_only_what_tells_of_the_service_itself_is_open_or_asks_for_no_scope() -> None:
    assert {one.path for one in ROUTES if one.open} == {
        "/metadata",
        "/.well-known/smart-configuration",
    }
    for one in ROUTES:
        asks = bool(one.needs) or one.open or (one.method, one.path) in BY_ENTRY
        assert asks or "$validate" in one.path, one


def test_a_search_by_post_needs_what_a_search_needs() -> None:
    needs = {(one.method, one.path): one.needs for one in ROUTES}
    for kind in PARAMETERS:
        assert needs["POST", f"/{kind}/_search"] == needs["GET", f"/{kind}"] == (f"{kind}.s",)
