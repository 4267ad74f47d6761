"""Is a body of the right shape read as it is, and nothing else?"""

import json
from decimal import Decimal
from typing import Any

import msgspec
import pytest
from hypothesis import Phase, given, settings

from service.domain.problem import Refused, Unreadable
from service.domain.screen import Screen
from service.domain.shape import MOST_FAULTS, read
from tests.strategies import ENCODER, screens

LEAST = {
    "patient": {"identifier": {"system": "urn:oid:2.999.7", "value": "H-1"}, "age_years": 80},
    "observed_at": "2026-03-04T08:15:00+01:00",
    "orders": {"precautions": []},
    "readiness": {},
    "stages": {},
}


def with_field(pointer: str, written: str) -> bytes:
    """The least screen with one field written exactly so."""
    body: Any = json.loads(json.dumps(LEAST))
    *parents, name = pointer.strip("/").split("/")
    place = body
    for parent in parents:
        place = place.setdefault(parent, {})
    place[name] = "@"
    return json.dumps(body).replace('"@"', written).encode()


def refused(body: bytes) -> list[tuple[str, str]]:
    with pytest.raises(Refused) as caught:
        read(body, Screen)
    return [(fault.path, fault.rule) for fault in caught.value.faults]


@settings(max_examples=30, phases=[Phase.explicit, Phase.generate])
@given(screens())
def test_every_screen_that_is_written_is_read_back_digit_for_digit(screen: Screen) -> None:
    body = ENCODER.encode(screen)
    assert read(body, Screen) == screen
    assert ENCODER.encode(read(body, Screen)) == body


def test_decimals_keep_the_digits_that_were_sent() -> None:
    assert str(read(with_field("/patient/mass_kg", "72.50"), Screen).patient.mass_kg) == "72.50"


@pytest.mark.parametrize("written", ["20", "500", "20.0", "500.000000", "7.5e1", "2E2"])
def test_a_decimal_is_taken_at_both_ends_and_in_any_notation(written: str) -> None:
    mass = read(with_field("/patient/mass_kg", written), Screen).patient.mass_kg
    assert mass == Decimal(written)


@pytest.mark.parametrize(
    ("written", "rule"),
    [
        ('"72.5"', "shape.type"),
        ('"NaN"', "shape.type"),
        ('""', "shape.type"),
        ("true", "shape.type"),
        ("[72.5]", "shape.type"),
        ("19.9", "shape.range"),
        ("500.1", "shape.range"),
        ("-72.5", "shape.range"),
        ("1E-400", "shape.range"),
        ("1e99999999999999999999", "shape.range"),
        ("1e-99999999999999999999", "shape.range"),
        ("72.5000001", "shape.decimals"),
    ],
)
def test_what_is_no_decimal_within_limits_is_refused(written: str, rule: str) -> None:
    assert refused(with_field("/patient/mass_kg", written)) == [("/patient/mass_kg", rule)]


@pytest.mark.parametrize("written", ["1E-400", "0E+999999", "0.0000001"])
def test_absurd_exponents_are_refused_where_zero_is_allowed(written: str) -> None:
    pointer = "/tests/functional_reach/reach_cm"
    assert refused(with_field(pointer, written)) == [(pointer, "shape.decimals")]


def test_decimals_inside_lists_are_held_to_their_limits() -> None:
    device = '[{"device_class": "stand_aid", "safe_working_load_kg": %s}]'
    body = with_field("/context/devices", device % "150.5")
    assert read(body, Screen).context.devices != "any"
    pointer = "/context/devices/0/safe_working_load_kg"
    for written, rule in (("10", "shape.range"), ('"150"', "shape.type")):
        assert refused(with_field("/context/devices", device % written)) == [(pointer, rule)]


@pytest.mark.parametrize("written", ["3", "3.0", "30e-1"])
def test_a_whole_number_may_be_written_with_a_fraction_of_zero(written: str) -> None:
    assert read(with_field("/readiness/pain_0_10", written), Screen).readiness.pain_0_10 == 3


@pytest.mark.parametrize(
    ("written", "rule"),
    [
        ("3.5", "shape.type"),
        ('"3"', "shape.type"),
        ("true", "shape.type"),
        ("11", "shape.range"),
        ("-1", "shape.range"),
        ("1e999999999", "shape.range"),
        ("1" * 40, "shape.range"),
    ],
)
def test_what_is_no_whole_number_within_limits_is_refused(written: str, rule: str) -> None:
    pointer = "/readiness/pain_0_10"
    assert refused(with_field(pointer, written)) == [(pointer, rule)]


def test_null_is_taken_only_where_a_value_may_be_left_out() -> None:
    assert read(with_field("/patient/mass_kg", "null"), Screen).patient.mass_kg is None
    assert refused(with_field("/readiness/anaesthetised", "null")) == [
        ("/readiness/anaesthetised", "shape.type")
    ]


def test_every_fault_is_listed_not_only_the_first() -> None:
    body = {
        "patient": {"identifier": {"system": "has space", "value": ""}, "mass": 70},
        "observed_at": "2026-03-04T08:15:00",
        "orders": {},
        "readiness": {"rass": 9, "symptoms": ["nausea", "hunger"]},
        "stages": [],
    }
    assert refused(json.dumps(body).encode()) == [
        ("/patient/mass", "shape.unknown_field"),
        ("/patient/identifier/system", "shape.pattern"),
        ("/patient/identifier/value", "shape.empty"),
        ("/observed_at", "shape.time"),
        ("/orders/precautions", "shape.missing"),
        ("/readiness/rass", "shape.range"),
        ("/readiness/symptoms/1", "shape.word"),
        ("/stages", "shape.type"),
    ]


def test_faults_beyond_a_limit_are_counted_not_listed() -> None:
    body = json.dumps({f"field_{number}": 1 for number in range(MOST_FAULTS + 50)}).encode()
    with pytest.raises(Refused) as caught:
        read(body, Screen)
    assert len(caught.value.faults) == MOST_FAULTS
    assert f"first {MOST_FAULTS}" in caught.value.detail


def test_no_text_repeats_what_was_sent() -> None:
    secret = "Mara-Aldous-1948"
    body = json.dumps({**LEAST, "observed_at": secret, "setting": secret, "signs": secret})
    with pytest.raises(Refused) as caught:
        read(body.encode(), Screen)
    assert all(secret not in fault.text for fault in caught.value.faults)


def test_a_body_nested_too_deep_is_unreadable_before_it_is_walked() -> None:
    body = with_field("/deep", "[" * 40 + "]" * 40)
    with pytest.raises(Unreadable) as caught:
        read(body, Screen)
    assert caught.value.faults[0].rule == "json.too_deep"


@pytest.mark.parametrize("body", [b"null", b"[]", b'"screen"', b"3", b"3.5", b"true"])
def test_a_body_that_is_no_object_is_refused_as_a_whole(body: bytes) -> None:
    assert refused(body) == [("", "shape.type")]


class Plain(msgspec.Struct, frozen=True):
    word: str


class Listed(msgspec.Struct, frozen=True):
    words: list[str]


def test_a_type_without_decimals_is_read_too() -> None:
    assert read(b'{"word":"a"}', Plain) == Plain("a")
    assert read(b'{"words":["a"]}', Listed) == Listed(["a"])
    assert read(b'["a"]', list[str]) == ["a"]
