"""Is the operation published as it is served?"""

from service.fhir.definitions.operations import SCREEN
from service.web.fhir.routes import ROUTES
from service.web.fhir.write import RESPONSE_PARAMETER
from tests.fhir.definitions.published import PLAIN

ONE = PLAIN["OperationDefinition/screen"]


def test_it_is_called_on_the_whole_server_and_writes() -> None:
    assert (ONE["system"], ONE["type"], ONE["instance"]) == (True, False, False)
    assert ONE["affectsState"] is True
    assert ("POST", f"/${SCREEN}") in {(route.method, route.path) for route in ROUTES}


def test_its_parameters_are_those_that_are_read_and_answered() -> None:
    told = {one["use"]: (one["name"], one["type"]) for one in ONE["parameter"]}
    assert told == {
        "in": (RESPONSE_PARAMETER, "QuestionnaireResponse"),
        "out": ("return", "Bundle"),
    }
