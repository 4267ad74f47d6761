"""Does the response hold every answer of the screen, unchanged?"""

from decimal import Decimal
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from msgspec.structs import replace

from service.domain.context import Context, FloorInjury, OnTheFloor
from service.domain.measured_tests import FiveTimesSitToStand, MeasuredTests
from service.domain.record import ScreenStatus
from service.domain.screen import Screen
from service.domain.stages import Attempt, Outcome, Sides, Stages
from service.domain.stop_rule import closed_stages
from service.fhir.encode import bytes_of
from service.fhir.narrative import struck
from service.fhir.questionnaire_response import response_of
from tests.fhir.answers import BARE, FULL, SITE, answer_to, corrected, withdrawn
from tests.fhir.validators import read
from tests.strategies import screens

Told = dict[str, list[Any]]


def response(screen: Screen) -> dict[str, Any]:
    record = replace(answer_to(BARE).screen, content=screen)
    return read(bytes_of(response_of(SITE, record)))


def told(items: list[dict[str, Any]]) -> Told:
    """Link ids with their answers, as the plain values of the native JSON."""
    found: Told = {}
    for item in items:
        found.setdefault(item["linkId"], []).extend(map(plain, item.get("answer", [])))
        for link, values in told(item.get("item", [])).items():
            found.setdefault(link, []).extend(values)
    return found


def plain(answer: dict[str, Any]) -> Any:
    (value,) = answer.values()
    if not isinstance(value, dict):
        return value
    return value["code"] if "value" not in value else value["value"]


def sent(value: Any, above: str = "") -> Told:
    """The same, read from the native JSON."""
    found: Told = {}
    if isinstance(value, dict):
        for name, inner in value.items():
            for link, values in sent(inner, f"{above}.{name}" if above else name).items():
                found.setdefault(link, []).extend(values)
    elif isinstance(value, list):
        for inner in value:
            for link, values in sent(inner, above).items():
                found.setdefault(link, []).extend(values)
    elif value is not None:
        found[above] = [value]
    return found


def test_every_answer_of_a_full_screen_is_there_as_it_was_sent() -> None:
    expected = sent(msgspec.to_builtins(FULL, builtin_types=(Decimal,)))
    assert same(told(response(FULL)["item"]), expected)


@settings(max_examples=30)
@given(screen=screens())
def test_every_answer_of_any_screen_is_there_as_it_was_sent(screen: Screen) -> None:
    expected = asked(screen, sent(msgspec.to_builtins(screen, builtin_types=(Decimal,))))
    assert same(told(response(screen)["item"]), expected)


def asked(screen: Screen, expected: Told) -> Told:
    """``expected`` without the stages that the stop rule closed before anything was tried."""
    untried = [
        f"stages.{stage}."
        for stage in closed_stages(screen.stages)
        if all(
            value == "not_attempted"
            for link, values in expected.items()
            if link.startswith(f"stages.{stage}.")
            for value in values
        )
    ]
    return {
        link: values for link, values in expected.items() if not link.startswith(tuple(untried))
    }


def test_a_stage_that_the_stop_rule_closed_is_not_told_as_asked() -> None:
    links = told(response(BARE)["item"])
    assert "stages.rise.outcome" in links
    assert not any(link.startswith("stages.weight_shift") for link in links)


def test_what_was_tried_all_the_same_is_told() -> None:
    tried = Sides(left=Attempt(outcome=Outcome.NOT_ACHIEVED))
    links = told(response(replace(BARE, stages=Stages(weight_shift=tried)))["item"])
    assert links["stages.weight_shift.left.outcome"] == ["not_achieved"]
    assert links["stages.weight_shift.right.outcome"] == ["not_attempted"]


_SAID_OTHERWISE = ("context.devices", "orders.precautions")


def same(answers: Told, expected: Told) -> bool:
    """Whether the answers are those expected, but for what the form words in its own way."""
    found = {
        link.replace(".listed.", "."): values
        for link, values in answers.items()
        if values and not link.endswith((".unable", ".there")) and link not in _SAID_OTHERWISE
    }
    wanted = {link: values for link, values in expected.items() if link not in _SAID_OTHERWISE}
    return found == wanted


def test_decimals_keep_their_digits() -> None:
    assert told(response(FULL)["item"])["patient.mass_kg"] == [Decimal("72.50")]
    assert b'"value":72.50' in bytes_of(response_of(SITE, answer_to(FULL).screen))


def test_no_precaution_is_an_answer_of_its_own() -> None:
    assert told(response(BARE)["item"])["orders.precautions"] == ["none"]
    assert told(response(FULL)["item"])["orders.precautions"] == [
        "hip",
        "spasms",
        "amputation_left_arm",
    ]


def test_not_able_to_finish_is_an_answer_of_its_own() -> None:
    tests = MeasuredTests(five_times_sit_to_stand=FiveTimesSitToStand(seconds=None))
    answers = told(response(replace(BARE, tests=tests))["item"])
    assert answers["tests.five_times_sit_to_stand.seconds.unable"] == [True]
    assert "tests.chair_stand_30s" not in answers


@pytest.mark.parametrize(("devices", "word"), [("any", "any"), ([], "listed")])
def test_any_device_and_no_device_are_told_apart(devices: Any, word: str) -> None:
    screen = replace(BARE, context=Context(devices=devices))
    assert told(response(screen)["item"])["context.devices"] == [word]


def test_lying_on_the_floor_is_told_even_when_nothing_else_is() -> None:
    assert told(response(BARE)["item"])["context.on_the_floor.there"] == [True]
    assert "On the floor: nothing more said" in response(BARE)["text"]["div"]
    standing = replace(BARE, context=Context())
    assert "context.on_the_floor" not in told(response(standing)["item"])
    hurt = replace(BARE, context=Context(on_the_floor=OnTheFloor(injury=FloorInjury.MINOR)))
    assert "context.on_the_floor.there" not in told(response(hurt)["item"])


def test_a_missing_stage_is_told_as_not_attempted() -> None:
    answers = told(response(replace(BARE, stages=Stages()))["item"])
    assert answers["stages.rise.outcome"] == ["not_attempted"]


def test_the_narrative_says_every_answer() -> None:
    div = response(FULL)["text"]["div"]
    for said in ("Mass: 72.50 kg", "Precautions: spasms", "Standing for time, seconds: 48.20 s"):
        assert f"<li>{said}</li>" in div


def test_the_status_follows_the_screen() -> None:
    made = answer_to(BARE)
    found = [
        response_of(SITE, answer.screen).status
        for answer in (made, corrected(made), withdrawn(made))
    ]
    assert found == ["completed", "amended", "entered-in-error"]
    assert len(ScreenStatus) == len(found)


def test_it_names_the_form_person_stay_and_author() -> None:
    made = response_of(SITE, answer_to(FULL).screen)
    assert made.questionnaire == SITE.definition("Questionnaire", "bedside-mobility-screen")
    assert made.authored == FULL.observed_at
    assert made.author is not None
    assert made.encounter is not None
    assert made.meta.version_id == "1"


def test_a_withdrawn_response_says_so_before_its_answers() -> None:
    made = answer_to(FULL)
    sound, error = (response_of(SITE, one.screen).text for one in (made, withdrawn(made)))
    assert sound is not None
    assert error == struck(sound) != sound
