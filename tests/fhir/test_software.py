"""Is the software known by its rule book, by itself and inside a Provenance?"""

from service.domain.plan import RuleBookRef
from service.fhir.encode import bytes_of
from service.fhir.software import device_id, device_of
from tests.fhir.answers import BOOK, SITE
from tests.fhir.own_checks import resource_faults
from tests.fhir.validators import form_faults, official_faults, parse_faults, read, without_decimals


def test_every_rule_book_is_another_device() -> None:
    other = RuleBookRef(BOOK.ref.version, "ab" * 32)
    assert device_id(BOOK.ref) != device_id(other)
    assert device_of(SITE, other).identifier[0].value == other.digest


def test_inside_another_resource_it_has_no_version_and_no_narrative() -> None:
    inside = device_of(SITE, BOOK.ref, "software")
    assert inside.id == "software"
    assert inside.text is None
    assert (inside.meta.version_id, inside.meta.last_updated) == (None, None)


def test_every_validator_takes_it_by_itself() -> None:
    raw = bytes_of(device_of(SITE, BOOK.ref))
    assert resource_faults(read(raw)) == []
    assert form_faults(raw) == []
    assert parse_faults(raw) == []
    assert official_faults(without_decimals(raw)) == []
