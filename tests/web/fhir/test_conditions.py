"""Are the conditions of a write read as the standard has them?"""

import pytest

from service.domain.problem import StaleVersion, VersionMissing
from service.domain.value import Identifier
from service.web.fhir.conditions import Returned, returned, source_named, version_named
from service.web.refusals import BadRequest


@pytest.mark.parametrize(
    ("prefer", "found"),
    [
        (None, Returned.MINIMAL),
        ("", Returned.MINIMAL),
        ("return=representation", Returned.REPRESENTATION),
        ('respond-async; return="minimal"', Returned.MINIMAL),
        ("handling=strict, Return=operationoutcome", Returned.OUTCOME),
        ("return=everything", Returned.MINIMAL),
        ("return=everything, return=representation", Returned.REPRESENTATION),
    ],
)
def test_the_first_return_that_is_understood_counts(prefer: str | None, found: Returned) -> None:
    assert returned(prefer, Returned.MINIMAL) == found


@pytest.mark.parametrize("tag", ['W/"3"', '"3"', ' W/"3" '])
def test_a_version_is_named_by_its_etag(tag: str) -> None:
    assert version_named(tag) == 3


@pytest.mark.parametrize(
    ("tag", "kind"),
    [
        (None, VersionMissing),
        ("3", BadRequest),
        ("*", BadRequest),
        ('W/"1", W/"2"', BadRequest),
        ('"3.1.current.x.f1"', StaleVersion),
        ('W/""', StaleVersion),
        ('W/"1234567890"', StaleVersion),
    ],
)
def test_anything_else_names_no_version(tag: str | None, kind: type[Exception]) -> None:
    with pytest.raises(kind):
        version_named(tag)


def test_a_response_is_looked_for_by_its_identifier_alone() -> None:
    assert source_named("identifier=urn%3As%7C7") == Identifier(system="urn:s", value="7")
    for query in ("", "identifier=7", "patient=1", "identifier=a%7Cb&x=1"):
        with pytest.raises(BadRequest):
            source_named(query)
