"""Is the operation published as it is served?"""

from service.fhir.definitions.operations import SCREEN
from service.web.fhir.routes import ROUTES
from service.web.fhir.write import RESPONSE_PARAMETER
from tests.fhir.definitions.published import PLAIN

ONE = PLAIN["OperationDefinition/screen"]


def test_it_is_called_where_it_is_served_and_nowhere_else_and_writes() -> None:
    assert (ONE["system"], ONE["type"], ONE["instance"]) == (True, True, False)
    assert ONE["affectsState"] is True
    served = {(route.method, route.path) for route in ROUTES if route.path.endswith(f"/${SCREEN}")}
    assert served == {("POST", f"{place}/${SCREEN}") for place in ("", "/" + ONE["resource"][0])}
    assert ONE["resource"] == ["QuestionnaireResponse"]


def test_its_parameters_are_those_that_are_read_and_answered() -> None:
    told = {one["use"]: (one["name"], one["type"]) for one in ONE["parameter"]}
    assert told == {
        "in": (RESPONSE_PARAMETER, "QuestionnaireResponse"),
        "out": ("return", "Bundle"),
    }
