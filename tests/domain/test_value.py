"""Do the limits of a decimal stand where shape and the described interface find them?"""

from decimal import Decimal

import msgspec
import pytest

from service.domain.value import Identifier, Name, bounded


def test_a_bound_keeps_its_digits_and_tells_the_interface_its_range() -> None:
    meta = bounded("0.21", "1", "A fraction")
    assert meta.extra == {"ge": Decimal("0.21"), "le": Decimal(1)}
    assert meta.extra_json_schema == {"minimum": 0.21, "maximum": 1.0}
    assert meta.description == "A fraction"


@pytest.mark.parametrize("system", ["", "two words", "a\tb", "x" * 201])
def test_an_identifier_system_is_one_uri(system: str) -> None:
    with pytest.raises(msgspec.ValidationError, match=r"\$\.system"):
        msgspec.convert({"system": system, "value": "p-1"}, Identifier)


def test_an_identifier_needs_both_its_halves() -> None:
    with pytest.raises(msgspec.ValidationError, match="`value`"):
        msgspec.convert({"system": "urn:example:patients"}, Identifier)


def test_a_name_may_be_half_known_but_not_empty() -> None:
    assert msgspec.convert({"family": "Anders"}, Name) == Name(family="Anders")
    with pytest.raises(msgspec.ValidationError, match=r"\$\.given"):
        msgspec.convert({"given": ""}, Name)
