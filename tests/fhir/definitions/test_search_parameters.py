"""Is the search parameter that is our own published as it is taken?"""

from service.fhir.definitions.search_parameters import PROVENANCE_PATIENT
from service.fhir.search_parameters import PARAMETERS
from tests.fhir.definitions.published import of

PUBLISHED = of("SearchParameter")


def test_each_that_is_not_the_standards_is_published_and_no_other() -> None:
    own = {
        f"{kind}-{name}".lower(): one
        for kind, listed in PARAMETERS.items()
        for name, one in listed.items()
        if not one.definition
    }
    assert PUBLISHED.keys() == own.keys() == {PROVENANCE_PATIENT}
    for name, one in own.items():
        assert PUBLISHED[name]["type"] == one.kind


def test_it_says_of_which_type_it_is_and_that_it_may_come_by_identifier_and_repeated() -> None:
    one = PUBLISHED[PROVENANCE_PATIENT]
    assert (one["code"], one["base"], one["target"]) == ("patient", ["Provenance"], ["Patient"])
    assert (one["modifier"], one["chain"]) == (["identifier"], ["identifier"])
    assert one["multipleOr"] is one["multipleAnd"] is True
    assert "title" not in one
