"""Can every document that was ever stored still be read?"""

import zlib
from decimal import Decimal

import msgspec
import pytest

from service.storage.documents import (
    PATIENT_SCHEMA,
    PLAN_SCHEMA,
    SCREEN_SCHEMA,
    EventDocument,
    OrganisationSettings,
    PatientDocument,
    canonical,
    decode_event,
    decode_identifiers,
    decode_patient,
    decode_plan,
    decode_screen,
    decode_settings,
    encode,
    encode_plan,
)

# One document of each schema number as it was stored then, before it was packed.
# Never edited, only added to.
OLD_SCREENS = {
    1: b'{"content":{"patient":{"identifier":{"system":"urn:oid:2.999.7","value":"H-1"},'
    b'"age_years":77,"mass_kg":"71.50"},"observed_at":"2026-03-04T08:15:00+01:00",'
    b'"orders":{"precautions":[]},"readiness":{},"stages":{}},'
    b'"profile":{"axes":{"sitting":{"grade":"unknown","set_by":[]}},"numbers":{},'
    b'"conditions":{}},"tests":[],"recorded_by":"ward system","reason":null}'
}
OLD_PLANS = {
    1: b'{"id":"p","version":1,"state":"current","patient_id":"","screen_id":"s",'
    b'"screen_version":1,"valid_from":"2026-03-04T07:15:00Z",'
    b'"valid_until":"2026-03-05T07:15:00Z","rescreen_due":"2026-03-05T07:15:00Z",'
    b'"rescreen_when":[],"goals":[],"exercise":null,"conditions":[],"notices":[],"moves":[],'
    b'"while_lapsed":[],"rule_book":{"version":"1","digest":"ab"},"replaces":null}'
}
OLD_PATIENTS = {1: b'{"known_since":1,"merged_at":null,"merged_by":null}'}


def test_there_is_an_old_document_of_every_number() -> None:
    assert list(OLD_SCREENS) == list(range(1, SCREEN_SCHEMA + 1))
    assert list(OLD_PLANS) == list(range(1, PLAN_SCHEMA + 1))
    assert list(OLD_PATIENTS) == list(range(1, PATIENT_SCHEMA + 1))


@pytest.mark.parametrize("number", OLD_SCREENS)
def test_an_old_screen_is_read(number: int) -> None:
    document = decode_screen(number, zlib.compress(OLD_SCREENS[number]))
    assert document.content.patient.mass_kg == Decimal("71.50")
    assert str(document.content.patient.mass_kg) == "71.50"
    assert document.content.observed_at.isoformat() == "2026-03-04T08:15:00+01:00"
    assert document.recorded_by == "ward system"
    packed = zlib.compress(OLD_SCREENS[number])
    assert decode_identifiers(number, packed) == (document.content.patient.identifier,)


@pytest.mark.parametrize("number", OLD_PLANS)
def test_an_old_plan_is_read(number: int) -> None:
    plan = decode_plan(number, zlib.compress(OLD_PLANS[number]))
    assert (plan.id, plan.rule_book.digest) == ("p", "ab")


@pytest.mark.parametrize("number", OLD_PATIENTS)
def test_an_old_patient_is_read(number: int) -> None:
    assert decode_patient(number, OLD_PATIENTS[number]) == PatientDocument(1)


def test_a_number_nobody_knows_is_not_guessed() -> None:
    with pytest.raises(KeyError):
        decode_screen(SCREEN_SCHEMA + 1, OLD_SCREENS[1])


def test_a_plan_is_stored_in_few_bytes_and_comes_back() -> None:
    plan = decode_plan(1, zlib.compress(OLD_PLANS[1]))
    packed = encode_plan(plan)
    assert len(packed) < len(encode(plan))
    assert decode_plan(PLAN_SCHEMA, packed) == plan


def test_small_documents_come_back() -> None:
    said = EventDocument(by_plan="a", reason="b", replaces="c")
    assert decode_event(encode(said)) == said
    settings = OrganisationSettings(("default",))
    assert decode_settings(encode(settings)) == settings
    assert decode_settings(b"{}") == OrganisationSettings()


def test_canonical_json_does_not_depend_on_the_order_of_making() -> None:
    assert canonical({"b": 1, "a": {"d": 2, "c": 3}}) == b'{"a":{"c":3,"d":2},"b":1}'
    assert canonical({"a": {"c": 3, "d": 2}, "b": 1}) == b'{"a":{"c":3,"d":2},"b":1}'
    assert msgspec.json.decode(canonical({"a": "é"})) == {"a": "é"}
