"""Is the form of an answer the one that Accept asks for?"""

import pytest

from service.web.negotiate import Form, error_form, form_of
from service.web.refusals import NotAcceptable

N, F = Form.NATIVE, Form.FHIR


@pytest.mark.parametrize(
    ("accept", "form"),
    [
        (None, N),
        ("", N),
        ("*/*", N),
        ("application/*", N),
        ("application/json", N),
        ("APPLICATION/JSON", N),
        ("application/json; charset=utf-8", N),
        ("application/fhir+json", F),
        ("application/fhir+json; fhirVersion=4.0", F),
        ('application/fhir+json; fhirVersion="4.0"', F),
        ("application/fhir+json, */*", F),
        ("application/fhir+json;q=0.5, */*;q=0.1", F),
        ("application/json;q=0.5, application/fhir+json;q=0.9", F),
        ("application/fhir+json;q=0.5, application/json;q=0.5", N),
        ("application/json;q=0, */*", F),
        ("text/html, application/fhir+json", F),
        ("text/html, */*;q=0.1", N),
        ("application/fhir+json;q=nonsense, application/json;q=0.1", N),
        ("application/fhir+json; fhirVersion=5.0, application/json;q=0.1", N),
        (",,application/fhir+json,", F),
        ("application/fhir+json;q=nan, */*;q=0.2", N),
    ],
)
def test_the_form_that_is_wanted_most_is_given(accept: str | None, form: Form) -> None:
    assert form_of(accept) == form
    assert error_form(accept) == form


@pytest.mark.parametrize(
    "accept",
    [
        "text/html",
        "application/xml",
        "application/fhir+xml",
        "application/json;q=0",
        "*/*;q=0",
        "application/fhir+json; fhirVersion=5.0",
        "application/problem+json",
    ],
)
def test_where_nothing_fits_the_answer_is_refused_and_the_refusal_native(accept: str) -> None:
    with pytest.raises(NotAcceptable):
        form_of(accept)
    assert error_form(accept) == N


def test_what_is_native_only_is_refused_as_fhir() -> None:
    with pytest.raises(NotAcceptable):
        form_of("application/fhir+json", (N,))
    assert form_of("application/fhir+json, */*;q=0.1", (N,)) == N
