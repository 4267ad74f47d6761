"""Is a resource held to what this deployment publishes?"""

from service.fhir.site import CANONICAL, code_system
from service.fhir.validate_ours import known_at, known_here
from tests.fhir.answers import SITE
from tests.fhir.broken import OBSERVATION, changed, faults


def test_every_code_of_our_own_systems_is_known() -> None:
    known = known_here()
    assert "sling_lift" in known.systems[code_system(CANONICAL, "method")]


def test_it_is_made_once_for_a_site() -> None:
    assert known_at(SITE) is known_at(SITE)


def test_a_code_that_we_do_not_have_is_told() -> None:
    ours = {"system": code_system(CANONICAL, "method"), "code": "carried"}
    resource = changed(OBSERVATION, "code.coding.0", ours)
    assert faults(resource, known_here()) == [("unknown_code", "Observation.code.coding[0].code")]
