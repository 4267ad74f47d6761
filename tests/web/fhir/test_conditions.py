"""Are the conditions of a write read as the standard has them?"""

from types import SimpleNamespace
from typing import Any, cast

import pytest
from litestar.datastructures import Headers

from service.domain.problem import StaleVersion, VersionMissing
from service.domain.value import Identifier
from service.web.fhir.conditions import (
    Returned,
    is_strict,
    prefer_of,
    returned,
    source_named,
    version_named,
)
from service.web.refusals import BadRequest


@pytest.mark.parametrize(
    ("prefer", "found"),
    [
        ("", Returned.MINIMAL),
        ("return=representation", Returned.REPRESENTATION),
        ('respond-async; return="minimal"', Returned.MINIMAL),
        ("handling=strict, Return=operationoutcome", Returned.OUTCOME),
        ("return=everything", Returned.MINIMAL),
        ("return=everything, return=representation", Returned.REPRESENTATION),
    ],
)
def test_the_first_return_that_is_understood_counts(prefer: str, found: Returned) -> None:
    assert returned(prefer, Returned.MINIMAL) == found


@pytest.mark.parametrize(
    ("prefer", "strict"),
    [
        ("", False),
        ("handling=strict", True),
        ('return=minimal; Handling = "STRICT"', True),
        ("return=minimal,handling=strict", True),
        ("handling=lenient", False),
        ("handling=strictly", False),
        ("handling=lenient, handling=strict", False),
    ],
)
def test_only_who_asks_for_it_is_held_to_what_is_known(prefer: str, *, strict: bool) -> None:
    assert is_strict(prefer) is strict


def test_a_preference_may_stand_in_a_header_of_its_own() -> None:
    headers = Headers([(b"prefer", b"return=minimal"), (b"prefer", b"handling=strict")])
    prefer = prefer_of(cast("Any", SimpleNamespace(headers=headers)))
    assert is_strict(prefer)
    assert returned(prefer, Returned.REPRESENTATION) == Returned.MINIMAL
    assert prefer_of(cast("Any", SimpleNamespace(headers=Headers({})))) == ""


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
