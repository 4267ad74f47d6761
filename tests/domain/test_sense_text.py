"""Is every text of a screen looked at, and nothing unfit let in?"""

from collections.abc import Iterator
from typing import Any

import pytest
from msgspec import inspect

from service.domain.context import Context, DeviceAtHand
from service.domain.orders import Orders
from service.domain.readiness import Readiness
from service.domain.screen import Assessor, Screen
from service.domain.sense_text import faults_of_text, text_faults, texts_of
from service.domain.stages import Stages
from service.domain.subject import Subject
from service.domain.value import Identifier, Name
from tests.strategies import NOW


def full(text: str) -> Screen:
    """A screen in which every text is ``text``."""
    identifier = Identifier(system=text, value=text)
    return Screen(
        patient=Subject(
            identifier=identifier,
            more_identifiers=[identifier],
            name=Name(family=text, given=text),
            age_years=80,
        ),
        observed_at=NOW,
        orders=Orders(precautions=[]),
        readiness=Readiness(),
        stages=Stages(),
        assessor=Assessor(identifier=identifier, role=text),
        encounter=identifier,
        location=text,
        source_id=text,
        context=Context(devices=[DeviceAtHand(device_class=text, label=text)]),
    )


def text_places(info: Any, path: str = "") -> Iterator[str]:
    """Every place of the type where free text can stand."""
    if isinstance(info, inspect.StrType):
        yield path
    elif isinstance(info, inspect.StructType):
        for field in info.fields:
            yield from text_places(field.type, f"{path}/{field.name}")
    elif isinstance(info, inspect.UnionType):
        for arm in info.types:
            yield from text_places(arm, path)
    elif isinstance(info, inspect.ListType):
        yield from text_places(info.item_type, f"{path}/0")


def test_every_text_of_a_screen_is_looked_at() -> None:
    assert {path for path, _ in texts_of(full("x"))} == set(text_places(inspect.type_info(Screen)))


def test_an_unfit_character_is_found_at_every_place() -> None:
    places = set(text_places(inspect.type_info(Screen)))
    assert {fault.path for fault in text_faults(full("a\x00b"))} == places


@pytest.mark.parametrize(
    "character",
    [
        "\x00",
        "\x1f",
        "\n",
        "\t",
        "\x7f",
        "\x85",
        "\ufffe",
        "\uffff",
        "\ufdd0",
        "\U0010ffff",
        "\u202e",
        "\u2066",
        "\ud800",
    ],
)
def test_control_characters_and_non_characters_are_refused(character: str) -> None:
    rules = [fault.rule for fault in faults_of_text("/location", f"a{character}b")]
    assert rules == ["sense.control_character"]


@pytest.mark.parametrize("text", ["é", "ß", "李", "a b", "O'Hara-Lyng", "🙂", "\ufffd"])
def test_ordinary_text_of_any_script_is_taken(text: str) -> None:
    assert list(faults_of_text("/location", text)) == []


@pytest.mark.parametrize("text", [" a", "a ", " ", "\u00a0a"])
def test_white_space_at_the_ends_is_refused_for_it_makes_two_of_one(text: str) -> None:
    assert [fault.rule for fault in faults_of_text("/x", text)] == ["sense.outer_space"]


def test_texts_left_out_have_no_fault() -> None:
    least = Screen(
        patient=Subject(identifier=Identifier(system="s", value="v"), age_years=80),
        observed_at=NOW,
        orders=Orders(precautions=[]),
        readiness=Readiness(),
        stages=Stages(),
    )
    assert list(text_faults(least)) == []
