"""Do the data types write FHIR's own names and nothing empty?"""

from datetime import UTC, datetime

from service.fhir.encode import bytes_of
from service.fhir.resources import Bundle
from service.fhir.structs import Extension, Meta
from tests.fhir.validators import read


def test_names_are_camel_case_and_defaults_are_left_out() -> None:
    meta = Meta(version_id="3", last_updated=datetime(2026, 3, 4, tzinfo=UTC))
    written = read(bytes_of(Bundle(id="a", meta=meta, type="collection")))
    assert written["meta"] == {"versionId": "3", "lastUpdated": "2026-03-04T00:00:00Z"}
    assert set(written) == {"resourceType", "id", "meta", "type"}


def test_no_structure_has_a_way_to_send_a_modifier() -> None:
    assert "modifier_extension" not in Extension.__struct_fields__
