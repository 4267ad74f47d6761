"""Can a form tool show the screen's form, and does every response agree with it?"""

import copy
from collections.abc import Callable
from typing import Any

import pytest

from service.demo.scenario import Sample, here
from service.demo.scenario import read as read_samples
from service.fhir.bundle import bundle_of
from service.fhir.definitions.examples import answer_to as example
from service.fhir.definitions.questionnaire import questionnaire
from service.fhir.definitions.shown_when import shown_when
from service.fhir.encode import bytes_of
from service.fhir.form import FormItem
from service.fhir.questionnaire_response import response_of
from tests.fhir.answers import BOOK, FULL, HELPED, SITE, answer_to
from tests.fhir.definitions.shown import Json, disagreements
from tests.fhir.validators import read

FORM = read(bytes_of(questionnaire(SITE)))
SAMPLES = read_samples(here())


def items(level: list[Json]) -> dict[str, Json]:
    found: dict[str, Json] = {}
    for one in level:
        found[one["linkId"]] = one
        found.update(items(one.get("item", [])))
    return found


ITEMS = items(FORM["item"])


def marks(link: str) -> dict[str, Json]:
    return {one["url"].rpartition("/")[2]: one for one in ITEMS[link].get("extension", [])}


def every(form: tuple[FormItem, ...]) -> list[FormItem]:
    return [one for item in form for one in (item, *every(item.parts))]


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_the_response_of_a_sample_agrees_with_the_form(sample: Sample) -> None:
    record = example(SITE, sample.screen, sample.number).screen
    response = read(bytes_of(response_of(SITE, record)))
    assert response["questionnaire"] == f"{FORM['url']}|{FORM['version']}"
    assert disagreements(FORM, response) == []


def test_a_response_with_every_field_agrees_but_for_what_a_form_would_have_hidden() -> None:
    entries = read(bytes_of(bundle_of(SITE, answer_to(FULL))))["entry"]
    (response,) = [
        one["resource"]
        for one in entries
        if one["resource"]["resourceType"] == "QuestionnaireResponse"
    ]
    assert [fault for fault in disagreements(FORM, response) if "hidden" not in fault] == []


def unasked(response: Json) -> None:
    response["item"][0]["item"].append({"linkId": "patient.unheard_of", "answer": []})


def without_orders(response: Json) -> None:
    response["item"] = [one for one in response["item"] if one["linkId"] != "orders"]


def as_text(response: Json) -> None:
    sex = _inside(response, "patient", "patient.sex")
    sex["answer"] = [{"valueString": "female"}]


def no_option(response: Json) -> None:
    setting = next(one for one in response["item"] if one["linkId"] == "setting")
    setting["answer"][0]["valueCoding"]["code"] = "moon"


def too_heavy(response: Json) -> None:
    mass = _inside(response, "patient", "patient.mass_kg")
    mass["answer"][0]["valueQuantity"]["value"] = 501


def in_pounds(response: Json) -> None:
    mass = _inside(response, "patient", "patient.mass_kg")
    mass["answer"][0]["valueQuantity"]["code"] = "[lb_av]"


def after_the_stop(response: Json) -> None:
    stages = next(one for one in response["item"] if one["linkId"] == "stages")
    rise = next(one for one in stages["item"] if one["linkId"] == "stages.rise")
    rise["item"] = [one for one in rise["item"] if one["linkId"] == "stages.rise.outcome"]
    rise["item"][0]["answer"][0]["valueCoding"] = ITEMS["stages.rise.outcome"]["answerOption"][1][
        "valueCoding"
    ]


def _inside(response: Json, room: str, link: str) -> Json:
    group = next(one for one in response["item"] if one["linkId"] == room)
    found: Json = next(one for one in group["item"] if one["linkId"] == link)
    return found


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (unasked, "not asked here"),
        (without_orders, "orders.precautions: required"),
        (as_text, "valueString for a choice"),
        (no_option, "moon is no option"),
        (too_heavy, "501 is past maxValue"),
        (in_pounds, "another unit"),
        (after_the_stop, "though it is hidden"),
    ],
)
def test_a_response_that_does_not_agree_is_seen(change: Callable[[Json], None], said: str) -> None:
    screen = next(one.screen for one in SAMPLES if one.screen.patient.mass_kg is not None)
    record = example(SITE, screen, 1).screen
    response = copy.deepcopy(read(bytes_of(response_of(SITE, record))))
    change(response)
    assert any(said in fault for fault in disagreements(FORM, response))


def test_every_field_of_the_screen_is_asked_for_under_its_own_words() -> None:
    for item in every(SITE.form):
        assert ITEMS[item.link]["text"] == item.text


def test_numbers_have_their_bounds_and_their_unit() -> None:
    mass = marks("patient.mass_kg")
    assert (mass["minValue"]["valueDecimal"], mass["maxValue"]["valueDecimal"]) == (20, 500)
    assert mass["questionnaire-unitOption"]["valueCoding"]["code"] == "kg"
    rass = marks("readiness.rass")
    assert (rass["minValue"]["valueInteger"], rass["maxValue"]["valueInteger"]) == (-5, 4)
    assert ITEMS["readiness.rass"]["type"] == "integer"


def test_a_stage_is_asked_in_the_words_of_its_rule_file() -> None:
    for stage, file in BOOK.stages.items():
        asks = ITEMS[f"stages.{stage}.asks"]
        assert (asks["type"], asks["text"]) == ("display", file.asks)


def test_how_to_ask_stands_before_the_question_which_has_no_items_of_its_own() -> None:
    for item in ITEMS.values():
        if item["type"] not in ("group", "display"):
            assert "item" not in item
    patient = [one["linkId"] for one in ITEMS["patient"]["item"]]
    place = patient.index("patient.mass_kg")
    assert patient[place - 1] == "patient.mass_kg.asks"


def test_a_choice_holds_its_options_so_that_no_terminology_server_is_needed() -> None:
    for link, item in ITEMS.items():
        assert "answerValueSet" not in item
        assert (item["type"] == "choice") is ("answerOption" in item), link


def test_options_that_stand_in_order_say_their_place() -> None:
    def places(link: str) -> list[tuple[str, Any]]:
        return [
            (
                one["valueCoding"]["code"],
                [mark["valueDecimal"] for mark in one.get("extension", [])],
            )
            for one in ITEMS[link]["answerOption"]
        ]

    assert places("stages.rise.outcome") == [
        ("not_attempted", []),
        ("not_achieved", [0]),
        ("achieved_with_help", [1]),
        ("achieved", [2]),
    ]
    assert places("orders.weight_bearing.left_leg.order")[0] == ("NWB", [0])
    assert places("context.on_the_floor.injury")[-1] == ("none", [2])
    assert all(place == [] for _, place in places("patient.sex"))
    mark = ITEMS["stages.rise.help"]["answerOption"][0]["extension"][0]
    assert mark["url"] == "http://hl7.org/fhir/StructureDefinition/ordinalValue"


def test_none_of_the_precautions_excludes_the_others() -> None:
    options = ITEMS["orders.precautions"]["answerOption"]
    alone = [one["valueCoding"]["code"] for one in options if "extension" in one]
    (mark,) = options[-1]["extension"]
    assert mark["url"].endswith("/questionnaire-optionExclusive")
    assert alone == ["none"]


def test_a_stage_begins_as_not_attempted() -> None:
    for link, code in (("stages.rise.outcome", "not_attempted"), ("setting", "acute")):
        options = ITEMS[link]["answerOption"]
        assert [one["valueCoding"]["code"] for one in options if "initialSelected" in one] == [code]
        assert "initial" not in ITEMS[link]
    assert ITEMS["readiness.anaesthetised"]["initial"] == [{"valueBoolean": False}]


def test_only_questions_that_the_service_cannot_do_without_are_required() -> None:
    required = {link for link, item in ITEMS.items() if item.get("required")}
    always = {link for link in required if link not in shown_when()}
    assert always == {"observed_at", "orders.precautions"}
    assert {"stages.rise.help", "orders.weight_bearing.left_leg.percent"} <= required
    assert all(ITEMS[link]["type"] != "group" for link in required)


def test_nothing_is_answered_beforehand_where_that_would_say_something() -> None:
    assert "initial" not in ITEMS["readiness.orthostatic.from_sitting"]
    options = ITEMS["context.devices.listed.status"]["answerOption"]
    assert not any("initialSelected" in one for one in options)


def test_link_ids_are_said_once() -> None:
    def links(level: list[Json]) -> list[str]:
        return [link for one in level for link in (one["linkId"], *links(one.get("item", [])))]

    told = links(FORM["item"])
    assert len(told) == len(set(told))


def test_to_lie_on_the_floor_can_be_said_when_no_more_is_known() -> None:
    there = ITEMS["context.on_the_floor.there"]
    assert (there["type"], there["text"]) == ("boolean", "On the floor, nothing more to say")
    assert ITEMS["context.on_the_floor"]["item"][-1] == there
    assert "initial" not in there
    said = {link.removesuffix(".there") for link in ITEMS if link.endswith(".there")}
    assert said == {one.link for one in every(SITE.form) if one.there is not None}
    assert "tests.chair_stand_30s" not in said


def test_a_list_of_devices_opens_only_where_they_are_listed() -> None:
    listed: dict[str, Any] = ITEMS["context.devices.listed"]
    assert listed["repeats"] is True
    assert listed["enableWhen"][0]["answerCoding"]["code"] == "listed"


def test_somebody_helped_up_has_a_response_that_agrees() -> None:
    response = read(bytes_of(response_of(SITE, answer_to(HELPED).screen)))
    assert disagreements(FORM, response) == []
