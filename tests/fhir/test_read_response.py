"""Is a response read back as the screen it was made of, and refused with all its faults?"""

from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings
from msgspec.structs import replace

from service.domain.context import Context, Setting
from service.domain.json_text import parse
from service.domain.problem import Fault, Refused
from service.domain.screen import Screen
from service.domain.sense import faults_of as senseless
from service.domain.stages import Rise, Stages
from service.fhir.encode import bytes_of
from service.fhir.outcome import outcome_of
from service.fhir.read_response import draft_of, refused, retold, screen_of
from tests.fhir.answers import BARE, FULL, HELPED, RECORDED_AT, SITE
from tests.fhir.responses import (
    answer_of,
    bare,
    faults_of,
    full,
    item_of,
    kilograms,
    plain,
    read_screen,
    response_to,
    without,
)
from tests.strategies import screens

SAMPLES = sorted(Path(__file__).parents[2].glob("samples/*/request.json"))
ENCODER = msgspec.json.Encoder(decimal_format="number")


@settings(max_examples=60)
@given(screen=screens())
def test_any_screen_comes_back_from_its_response_digit_for_digit(screen: Screen) -> None:
    again = read_screen(response_to(screen))
    assert again == screen
    assert ENCODER.encode(again) == ENCODER.encode(screen)


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.parent.name)
def test_every_sample_comes_back_from_its_response(sample: Path) -> None:
    screen = msgspec.json.decode(sample.read_bytes(), type=Screen)
    assert ENCODER.encode(read_screen(response_to(screen))) == ENCODER.encode(screen)


@pytest.mark.parametrize("screen", [FULL, HELPED, BARE], ids=["full", "helped", "bare"])
def test_the_items_alone_are_enough(screen: Screen) -> None:
    assert read_screen(plain(screen)) == screen


def test_empty_lists_and_none_at_all_are_told_apart() -> None:
    for context in (Context(), Context(devices=[]), Context(devices="any")):
        screen = replace(BARE, context=context)
        assert read_screen(response_to(screen)).context == context


def test_a_response_that_was_stopped_has_its_other_stages_not_attempted() -> None:
    raw = {**without(full(), "stages", "signs"), "status": "stopped"}
    raw["item"].append(
        {
            "linkId": "stages",
            "item": [
                {
                    "linkId": "stages.rise",
                    "item": [item_of(full(), "stages.rise.outcome")],
                }
            ],
        }
    )
    item_of(raw, "stages.rise.outcome")["answer"][0]["valueCoding"]["code"] = "not_achieved"
    assert read_screen(raw).stages == Stages(
        rise=Rise(outcome=read_screen(raw).stages.rise.outcome)
    )
    assert read_screen(raw).stages.rise.outcome == "not_achieved"


def test_a_response_still_in_progress_is_refused() -> None:
    assert faults_of({**full(), "status": "in-progress"}) == [("/status", "form.status")]


@pytest.mark.parametrize("status", ["amended", "entered-in-error"])
def test_a_change_is_no_new_screen(status: str) -> None:
    assert faults_of({**full(), "status": status}) == [("/status", "form.status")]


def test_a_status_can_be_asked_for() -> None:
    draft = draft_of(SITE, {**full(), "status": "amended"})
    assert screen_of(draft, statuses=("amended",)) == FULL


@pytest.mark.parametrize("raw", [None, [], {}, {"resourceType": "Observation"}, "text"])
def test_what_is_no_response_is_refused_at_once(raw: object) -> None:
    assert faults_of(raw) == [("/resourceType", "form.resource_type")]


def test_a_missing_answer_is_named_by_its_link_id() -> None:
    raw = without(bare(), "orders")
    with pytest.raises(Refused) as told:
        read_screen(raw)
    (fault,) = told.value.faults
    assert (fault.path, fault.rule) == ("/QuestionnaireResponse", "shape.missing")
    assert "(linkId orders.precautions)" in fault.text


def test_a_missing_result_is_told_with_the_question_that_says_not_able() -> None:
    for link, told in (("tests.sppb.gait_4m_s", True), ("tests.gait_speed.seconds", False)):
        with pytest.raises(Refused) as problem:
            read_screen(without(full(), link))
        (fault,) = problem.value.faults
        assert fault.rule == "shape.missing"
        assert (".unable question" in fault.text) is told


def test_what_could_not_be_read_is_not_missing_as_well() -> None:
    raw = full()
    answer_of(raw, "orders.precautions")["valueCoding"]["code"] = "unheard_of"
    item_of(raw, "tests.gait_speed.distance_m")["answer"] = [{"valueString": "4"}]
    assert [rule for _, rule in faults_of(raw)] == ["form.code", "form.answer_type"]


def test_faults_of_form_of_value_and_of_the_whole_are_listed_together() -> None:
    raw = full()
    raw["questionnaire"] = "urn:other"
    raw["unheard"] = 1
    answer_of(raw, "patient.mass_kg")["valueQuantity"] = kilograms("9999")
    answer_of(raw, "stages.rise.hands_used").clear()
    assert {rule for _, rule in faults_of(raw)} == {
        "form.questionnaire",
        "shape.unknown_field",
        "shape.range",
        "form.no_value",
        "shape.empty",
    }


def test_a_value_out_of_its_limits_is_placed_at_its_answer() -> None:
    raw = full()
    answer_of(raw, "patient.mass_kg")["valueQuantity"] = kilograms("9999")
    place = "/item/0/item/3/answer/0"
    assert raw["item"][0]["item"][3]["linkId"] == "patient.mass_kg"
    assert faults_of(raw) == [(place, "shape.range")]


def test_faults_of_sense_are_placed_where_the_answers_stand() -> None:
    screen = replace(FULL, stages=replace(FULL.stages, rise=Rise(hands_used=True)))
    draft = draft_of(SITE, response_to(screen))
    found = senseless(screen_of(draft), RECORDED_AT)
    placed = retold(draft, found)
    assert [fault.rule for fault in placed] == [fault.rule for fault in found]
    assert found[0].path == "/stages/rise/hands_used"
    outcome = outcome_of(Refused("x", placed))
    (expression,) = outcome.issue[0].expression
    stages, rise = expression.removeprefix("QuestionnaireResponse.item[").split("].item[")[:2]
    items = response_to(screen)["item"]
    assert items[int(stages)]["item"][int(rise)]["linkId"] == "stages.rise"
    assert expression.endswith(".answer[0]")


def test_faults_of_sense_come_with_the_others_where_every_answer_was_read() -> None:
    raw = response_to(replace(FULL, stages=replace(FULL.stages, rise=Rise(hands_used=True))))
    raw["questionnaire"] = "urn:other"
    rules = [rule for _, rule in faults_of(raw)]
    assert rules[0] == "form.questionnaire"
    assert "sense.hands_not_attempted" in rules
    answer_of(raw, "location").clear()
    assert {rule for _, rule in faults_of(raw)} >= {"form.questionnaire", "form.no_value"}


def test_what_was_not_read_is_not_said_to_make_no_sense() -> None:
    raw = full()
    answer_of(raw, "stages.weight_shift.right.help")["valueCoding"]["code"] = "unheard_of"
    assert [rule for _, rule in faults_of(raw)] == ["form.code"]


def test_a_doubled_key_is_refused_before_anything_is_read() -> None:
    body = bytes_of_full().replace(b'"status":', b'"status":"completed","status":', 1)
    with pytest.raises(Exception, match="cannot be read as JSON"):
        parse(body)


def bytes_of_full() -> bytes:
    return msgspec.json.encode(full())


def test_very_many_faults_are_cut_and_counted() -> None:
    each = [Fault(f"/{number}", "form.place", "x") for number in range(201)]
    problem = refused([*each, each[0]])
    assert len(problem.faults) == 200
    assert "200 of 201" in problem.detail


def test_no_fault_repeats_what_was_sent() -> None:
    raw = full()
    raw["item"][0]["linkId"] = "Mrs Nightshade"
    answer_of(raw, "setting")["valueCoding"] = {"system": "Mrs Nightshade", "code": "Nightshade"}
    raw["Nightshade of the ward"] = 1
    with pytest.raises(Refused) as told:
        read_screen(raw)
    assert "Nightshade" not in bytes_of(outcome_of(told.value)).decode()


def test_a_response_that_does_not_say_its_setting_has_the_organisation_s() -> None:
    unsaid = bare()
    unsaid["item"] = [item for item in unsaid["item"] if item["linkId"] != "setting"]
    at_home = replace(SITE, setting=Setting.HOME)
    assert screen_of(draft_of(at_home, unsaid)).setting == Setting.HOME
    assert screen_of(draft_of(SITE, unsaid)).setting == Setting.ACUTE
    assert screen_of(draft_of(at_home, bare())).setting == Setting.ACUTE
