"""Are items read into their fields, in any order and number of parts, and nothing else?"""

from decimal import Decimal
from typing import Any

import pytest

from service.fhir.read_form import questions_of
from service.fhir.read_items import Reading, read_items
from tests.fhir.answers import FULL, SITE
from tests.fhir.responses import (
    Raw,
    all_items,
    answer_of,
    bare,
    faults_of,
    full,
    item_of,
    plain,
    read_screen,
    without,
)


def reading_of(raw: Raw) -> Reading:
    reading = Reading()
    read_items(reading, questions_of(SITE.form), raw.get("item"), "/Q")
    return reading


def test_the_document_is_the_native_json_with_its_digits() -> None:
    document = reading_of(full()).document
    assert document["patient"]["mass_kg"] == Decimal("72.50")
    assert str(document["patient"]["mass_kg"]) == "72.50"
    assert document["tests"]["sppb"]["chair_stands_s"] is None
    assert document["orders"]["precautions"] == ["hip", "spasms", "amputation_left_arm"]
    assert len(document["context"]["devices"]) == 2


def test_each_field_knows_where_its_answer_was_sent() -> None:
    raw = full()
    reading = reading_of(raw)
    for native, place in reading.places.items():
        found: Any = raw
        for part in place.split("/")[2:]:
            found = found[int(part)] if part.isdecimal() else found[part]
        assert isinstance(found, dict), (native, place)
    assert reading.places["/signs/1/sign"].endswith("/answer/0")


def reverse(raw: Raw) -> None:
    """The items of every group the other way round; what is repeated keeps its order."""
    for group in [raw, *all_items(raw)]:
        if "item" in group:
            links = [one["linkId"] for one in group["item"]]
            repeated = len(links) != len(set(links))
            group["item"] = group["item"] if repeated else group["item"][::-1]


def test_groups_and_questions_come_in_any_order() -> None:
    raw = full()
    reverse(raw)
    assert read_screen(raw) == FULL


def test_an_unknown_link_id_is_a_fault_and_what_is_in_it_is_not_looked_at() -> None:
    raw = bare()
    raw["item"].append({"linkId": "vitals", "item": [{"linkId": "also.unknown"}]})
    number = len(raw["item"]) - 1
    assert faults_of(raw) == [(f"/item/{number}/linkId", "form.unknown_link")]


def test_how_the_form_asks_may_be_sent_along_with_nothing_in_it() -> None:
    raw = bare()
    stages = next(item for item in raw["item"] if item["linkId"] == "stages")
    before = reading_of(raw).document
    stages["item"].insert(0, {"linkId": "stages.rise.asks", "text": "Does the person rise?"})
    assert faults_of(raw) == []
    assert reading_of(raw).document == before
    stages["item"][0]["answer"] = [{"valueString": "yes"}]
    assert [rule for _, rule in faults_of(raw)] == ["form.unknown_link"]


@pytest.mark.parametrize(
    ("link", "into"), [("patient.mass_kg", "stages"), ("setting", "patient"), ("signs", "orders")]
)
def test_an_item_in_another_group_is_a_fault(link: str, into: str) -> None:
    raw = full()
    moved = item_of(raw, link)
    raw = without(raw, link)
    item_of(raw, into)["item"].append(moved)
    ((place, rule),) = faults_of(raw)
    assert rule == "form.place"
    assert place.endswith("/linkId")


def test_a_question_of_a_group_is_not_taken_at_the_top() -> None:
    raw = without(full(), "patient.mass_kg", "patient.mass_measured_at")
    raw["item"].append(item_of(full(), "patient.mass_kg"))
    assert [rule for _, rule in faults_of(raw)] == ["form.place"]


def test_a_group_with_an_answer_and_a_question_with_items_are_faults() -> None:
    raw = full()
    item_of(raw, "stages")["answer"] = [{"valueBoolean": True}]
    item_of(raw, "setting")["item"] = [item_of(full(), "location")]
    assert [rule for _, rule in faults_of(raw)] == ["form.place", "form.place"]


def test_one_question_in_two_items_is_a_fault_at_the_second() -> None:
    raw = full()
    raw["item"].append(item_of(full(), "setting"))
    number = len(raw["item"]) - 1
    assert faults_of(raw) == [(f"/item/{number}", "form.repeated")]


def test_several_answers_where_one_is_taken_are_faults() -> None:
    raw = full()
    answer = item_of(raw, "setting")["answer"]
    answer.extend([answer[0], answer[0]])
    assert [(place[-9:], rule) for place, rule in faults_of(raw)] == [
        ("/answer/1", "form.several"),
        ("/answer/2", "form.several"),
    ]


@pytest.mark.parametrize("link", ["setting", "orders.precautions", "context.devices"])
def test_codes_of_another_version_of_their_system_are_refused(link: str) -> None:
    raw = full()
    for answer in item_of(raw, link)["answer"]:
        answer["valueCoding"]["version"] = "1.0"
    assert read_screen(raw) == FULL
    answer["valueCoding"]["version"] = "7.0"
    ((place, rule),) = faults_of(raw)
    assert (place[-19:], rule) == ("valueCoding/version", "form.system")


def test_a_bad_choice_among_good_ones_is_placed_at_its_own_answer() -> None:
    raw = full()
    item_of(raw, "orders.precautions")["answer"][1]["valueCoding"]["code"] = "no"
    ((place, rule),) = faults_of(raw)
    assert (place[-26:], rule) == ("/answer/1/valueCoding/code", "form.code")


def test_one_choice_twice_is_a_fault_of_sense_at_its_own_answer() -> None:
    reading = reading_of(full())
    assert reading.places["/orders/precautions/2"].endswith("/answer/2")


def test_none_stands_alone() -> None:
    raw = full()
    none = {**answer_of(bare(), "orders.precautions")}
    item_of(raw, "orders.precautions")["answer"].append(none)
    assert [rule for _, rule in faults_of(raw)] == ["form.none_beside"]


def test_devices_that_are_listed_say_so_by_being_there() -> None:
    raw = without(full(), "context.devices")
    assert read_screen(raw) == FULL


@pytest.mark.parametrize("first", [True, False])
def test_any_device_and_a_list_contradict_each_other(first: bool) -> None:  # noqa: FBT001
    raw = full()
    context = item_of(raw, "context")
    code = answer_of(raw, "context.devices")["valueCoding"]
    code["code"] = "any"
    if not first:
        context["item"].sort(key=lambda item: item["linkId"] == "context.devices")
    rules = [rule for _, rule in faults_of(raw)]
    assert set(rules) == {"form.contradiction"}


def test_not_able_and_a_value_contradict_each_other() -> None:
    raw = full()
    item_of(raw, "tests.sppb")["item"].append(
        {"linkId": "tests.sppb.gait_4m_s.unable", "answer": [{"valueBoolean": True}]}
    )
    assert [rule for _, rule in faults_of(raw)] == ["form.repeated"]


def test_a_box_for_not_able_that_was_left_open_says_nothing() -> None:
    raw = full()
    unable = {"linkId": "tests.sppb.gait_4m_s.unable", "answer": [{"valueBoolean": False}]}
    item_of(raw, "tests.sppb")["item"].append(unable)
    assert read_screen(raw) == FULL
    raw = without(raw, "tests.sppb.gait_4m_s")
    assert [rule for _, rule in faults_of(raw)] == ["shape.missing"]


@pytest.mark.parametrize("beside", [{"id": "a"}, {"_valueBoolean": {"id": "a"}}])
def test_an_open_box_says_nothing_whatever_stands_beside_its_value(beside: Raw) -> None:
    raw = full()
    box = {"linkId": "tests.sppb.gait_4m_s.unable", "answer": [{"valueBoolean": False, **beside}]}
    item_of(raw, "tests.sppb")["item"].append(box)
    assert read_screen(raw) == FULL
    raw = without(raw, "tests.sppb.gait_4m_s")
    assert [rule for _, rule in faults_of(raw)] == ["shape.missing"]


def test_an_open_box_with_questions_in_it_is_a_fault_of_its_own() -> None:
    raw = without(full(), "tests.sppb.gait_4m_s")
    box = {"valueBoolean": False, "item": [{"linkId": "location"}]}
    unable = {"linkId": "tests.sppb.gait_4m_s.unable", "answer": [box]}
    item_of(raw, "tests.sppb")["item"].append(unable)
    assert [rule for _, rule in faults_of(raw)] == ["form.place"]


def test_whether_devices_are_limited_is_answered_once() -> None:
    for first, second in (("any", "listed"), ("listed", "any"), ("any", "any")):
        raw = without(bare(), "context.devices", "context.devices.listed")
        for code in (first, second):
            said = {**answer_of(full(), "context.devices")["valueCoding"], "code": code}
            item = {"linkId": "context.devices", "answer": [{"valueCoding": said}]}
            item_of(raw, "context")["item"].append(item)
        assert [rule for _, rule in faults_of(raw)] == ["form.repeated"]


def test_texts_of_items_are_not_looked_at() -> None:
    raw = full()
    for item in all_items(raw):
        item["text"] = "Ask this in our own words"
        item["definition"] = "http://ehr.example/question"
    assert read_screen(raw) == FULL
    assert read_screen(plain()) == FULL
