"""Does the walk over a type agree with the strict reading of it, and say what is allowed?"""

import copy
import json
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from msgspec import inspect

from service.domain.json_text import parse
from service.domain.screen import Screen
from service.domain.shape_faults import walk
from tests.strategies import screen_json

SCREEN = inspect.type_info(Screen)
JUNK: list[Any] = [None, True, -1, 0, 3, 10**9, "", "x" * 1001, "any", "2026-03-04", [], {}, [[]]]


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield path
    if isinstance(value, (dict, list)):
        inner = value.items() if isinstance(value, dict) else enumerate(value)
        for key, part in inner:
            yield from places(part, (*path, key))


def swapped(value: Any, path: tuple[Any, ...], other: Any) -> Any:
    if not path:
        return other
    changed = copy.deepcopy(value)
    place = changed
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = other
    return changed


@settings(max_examples=50, phases=[Phase.explicit, Phase.generate])
@given(screen_json(), st.data())
def test_the_walk_finds_a_fault_wherever_the_strict_reading_does(
    body: bytes, data: st.DataObject
) -> None:
    raw = parse(body)
    assert walk(raw, SCREEN, "")[1] == []
    path = data.draw(st.sampled_from(list(places(raw))))
    changed = swapped(raw, path, data.draw(st.sampled_from(JUNK)))
    _, faults = walk(changed, SCREEN, "")
    try:
        msgspec.convert(changed, Screen, strict=True)
    except msgspec.ValidationError:
        assert faults
    else:
        # the strict reading knows no bounds of decimals, and takes text in place of them
        assert {fault.rule for fault in faults} <= {"shape.range", "shape.type", "shape.decimals"}


class One(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    field: Any


def said(pointer: str, value: Any) -> tuple[str, str]:
    """Rule and text of the only fault when one field of a screen is ``value``."""
    body: dict[str, Any] = {}
    *parents, name = pointer.strip("/").split("/")
    place = body
    for parent in parents:
        place = place.setdefault(parent, {})
    place[name] = value
    _, faults = walk(parse(json.dumps(body).encode()), SCREEN, "")
    (fault,) = (fault for fault in faults if fault.path == pointer)
    return fault.rule, fault.text


@pytest.mark.parametrize(
    ("pointer", "value", "rule", "text"),
    [
        ("/patient/mass_kg", 7, "shape.range", "from 20 to 500"),
        ("/patient/mass_kg", "7", "shape.type", "a number"),
        ("/patient/age_years", 131, "shape.range", "from 0 to 130"),
        ("/patient/age_years", "80", "shape.type", "a whole number"),
        ("/patient/birth_date", "1948-02-30", "shape.time", "a date"),
        ("/patient/birth_date", 19480302, "shape.type", "a date"),
        ("/patient/sex", "f", "shape.word", "female, male, other, unknown"),
        ("/patient/sex", 1, "shape.word", "female, male, other, unknown"),
        ("/patient/injured_in_fall", 0, "shape.type", "true or false"),
        ("/patient/name", "Mara", "shape.type", "an object"),
        ("/patient/more_identifiers", {}, "shape.type", "an array"),
        ("/observed_at", "2026-03-04T08:15:00", "shape.time", "offset from UTC"),
        ("/observed_at", 1772612100, "shape.type", "offset from UTC"),
        ("/location", "", "shape.empty", "leave the field out"),
        ("/location", "x" * 201, "shape.length", "at most 200 characters"),
        ("/location", 12, "shape.type", "text"),
        ("/encounter/system", "two words", "shape.pattern", "Must match"),
        ("/signs", [{}] * 73, "shape.length", "at most 72 entries"),
        ("/context/moves", [], "shape.empty", "leave the field out"),
        ("/context/devices", "all", "shape.word", "one of: any"),
        ("/context/devices", 3, "shape.word", "one of: any"),
        ("/context/chair/colour", "red", "shape.unknown_field", "not known"),
    ],
)
def test_each_fault_says_what_is_allowed(pointer: str, value: Any, rule: str, text: str) -> None:
    found, words = said(pointer, value)
    assert found == rule
    assert text in words


def test_an_unknown_name_that_may_be_a_persons_words_is_not_repeated() -> None:
    _, faults = walk({"Mara Aldous": 1}, inspect.type_info(One), "/patient")
    assert ("/patient", "shape.unknown_field") in {(fault.path, fault.rule) for fault in faults}
    assert all("Mara" not in fault.path + fault.text for fault in faults)


def limits(info: Any, seen: set[type]) -> Iterator[Any]:
    if isinstance(info, inspect.StructType) and info.cls not in seen:
        seen.add(info.cls)
        for field in info.fields:
            yield from limits(field.type, seen)
    elif isinstance(info, inspect.UnionType):
        for arm in info.types:
            yield from limits(arm, seen)
    elif isinstance(info, inspect.Metadata) and not isinstance(info.type, inspect.DecimalType):
        yield from limits(info.type, seen)
    elif isinstance(info, inspect.ListType):
        yield info
        yield from limits(info.item_type, seen)
    else:
        yield info


def test_every_field_of_a_screen_has_a_limit_to_its_size() -> None:
    found = list(limits(SCREEN, set()))
    for info in found:
        if isinstance(info, inspect.IntType):
            assert info.ge is not None and info.le is not None
        elif isinstance(info, (inspect.StrType, inspect.ListType)):
            assert info.max_length is not None
        else:
            assert not isinstance(info, inspect.DecimalType), "a decimal without bounds"
            assert not isinstance(info, inspect.FloatType)
            if isinstance(info, inspect.Metadata):
                assert set(info.extra or ()) == {"ge", "le"}
    assert len(found) > 50
