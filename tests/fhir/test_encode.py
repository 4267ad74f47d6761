"""Do numbers arrive with the digits they were sent with?"""

from decimal import Decimal

import pytest

from service.fhir.bundle import bundle_of
from service.fhir.encode import FHIR_JSON, bytes_of
from service.fhir.resources import Component
from service.fhir.structs import CodeableConcept
from service.fhir.units import quantity
from tests.fhir.answers import FULL, SITE, answer_to


def test_the_media_type_names_the_release() -> None:
    assert FHIR_JSON == "application/fhir+json; fhirVersion=4.0"


@pytest.mark.parametrize("digits", [b"72.50", b"36.80", b"48.20", b"8.50", b"96.0"])
def test_trailing_zeros_are_kept(digits: bytes) -> None:
    assert b'"value":' + digits + b"," in bytes_of(bundle_of(SITE, answer_to(FULL)))


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity"])
def test_what_json_has_no_word_for_is_refused(number: str) -> None:
    with pytest.raises(ValueError, match="finite"):
        Component(code=CodeableConcept(text="x"), value_quantity=quantity(Decimal(number), "kg"))
