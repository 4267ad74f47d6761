"""Is a screen closed: no field that is not known, nothing that changes after it was read?"""

import json
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from msgspec import Struct

from service.domain.context import Context, Setting
from service.domain.orders import Orders
from service.domain.screen import Screen
from service.domain.stages import Outcome, Stages
from tests.domain.structs import structs_of
from tests.strategies import ENCODER, screens

DECODER = msgspec.json.Decoder(Screen)
SMALLEST: dict[str, Any] = {
    "patient": {"identifier": {"system": "urn:example:patients", "value": "p-1"}},
    "observed_at": "2026-03-04T09:00:00Z",
    "orders": {"precautions": []},
    "readiness": {},
    "stages": {},
}


def decoded(raw: dict[str, Any]) -> Screen:
    return DECODER.decode(json.dumps(raw))


@pytest.mark.parametrize("kind", [*structs_of(Screen)], ids=lambda kind: kind.__name__)
def test_every_part_of_a_screen_is_frozen_and_refuses_unknown_fields(kind: type[Struct]) -> None:
    assert kind.__struct_config__.frozen
    assert kind.__struct_config__.forbid_unknown_fields
    with pytest.raises(msgspec.ValidationError, match="unknown field `nobody_knows`"):
        msgspec.convert({"nobody_knows": 1}, kind)


def test_the_parts_of_a_screen_are_found_all_the_way_down() -> None:
    names = {kind.__name__ for kind in structs_of(Screen)}
    assert {"Subject", "LimbOrder", "LyingPressure", "DeviceAtHand", "MrcSide"} <= names


def test_what_is_not_said_is_not_attempted_not_known_and_not_limited() -> None:
    screen = decoded(SMALLEST)
    assert screen.stages == Stages()
    assert screen.stages.rise.outcome == Outcome.NOT_ATTEMPTED
    assert screen.stages.timed_stand.seconds is None
    assert screen.readiness.rass is None
    assert screen.setting == Setting.ACUTE
    assert screen.context == Context()
    assert screen.context.devices == "any"


@pytest.mark.parametrize("field", SMALLEST)
def test_a_part_that_must_be_sent_is_asked_for(field: str) -> None:
    with pytest.raises(msgspec.ValidationError, match=f"missing required field `{field}`"):
        decoded({name: value for name, value in SMALLEST.items() if name != field})


def test_that_no_precaution_applies_must_be_said() -> None:
    with pytest.raises(msgspec.ValidationError, match="precautions"):
        msgspec.convert({}, Orders)


@given(screens())
@settings(max_examples=25)
def test_a_screen_written_and_read_again_is_the_same(screen: Screen) -> None:
    assert DECODER.decode(ENCODER.encode(screen)) == screen
