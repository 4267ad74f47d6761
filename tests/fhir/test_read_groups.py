"""What does a group say that is split, empty, or there without an answer in it?"""

from service.domain.context import OnTheFloor
from tests.fhir.answers import FULL
from tests.fhir.responses import (
    Raw,
    answer_of,
    bare,
    faults_of,
    full,
    item_of,
    read_screen,
    without,
)

THERE = "context.on_the_floor.there"


def test_a_group_may_come_in_several_parts() -> None:
    raw = full()
    stages = item_of(raw, "stages")
    rest = {**stages, "item": stages["item"][4:]}
    stages["item"] = stages["item"][:4]
    raw["item"].append(rest)
    assert read_screen(raw) == FULL


def test_empty_groups_and_unanswered_questions_say_nothing() -> None:
    raw = bare()
    raw["item"].append({"linkId": "tests"})
    item_of(raw, "patient")["item"].append({"linkId": "patient.mass_kg"})
    assert read_screen(raw) == read_screen(bare())


def floor(*items: Raw) -> Raw:
    raw = without(bare(), "context.on_the_floor")
    item_of(raw, "context")["item"].append({"linkId": "context.on_the_floor", "item": [*items]})
    return raw


def test_a_group_of_which_nothing_is_known_but_that_it_is_there_is_said_to_be_there() -> None:
    assert read_screen(bare()).context.on_the_floor == OnTheFloor()
    assert answer_of(bare(), THERE) == {"valueBoolean": True}
    assert read_screen(without(bare(), "context.on_the_floor")).context.on_the_floor is None


def test_a_group_in_which_nothing_is_answered_puts_nobody_on_the_floor() -> None:
    unanswered = {"linkId": "context.on_the_floor.injury"}
    open_box = {"linkId": THERE, "answer": [{"valueBoolean": False}]}
    for items in ([unanswered], [unanswered, {"linkId": THERE}], [open_box]):
        assert read_screen(floor(*items)).context.on_the_floor is None
    raw = without(bare(), "context.on_the_floor")
    item_of(raw, "context")["item"].append({"linkId": "context.on_the_floor"})
    assert read_screen(raw).context.on_the_floor is None


def test_to_be_there_may_be_said_beside_what_is_known_and_in_any_part() -> None:
    there = {"linkId": THERE, "answer": [{"valueBoolean": True}]}
    alone = {"linkId": "context.on_the_floor.gets_up_alone", "answer": [{"valueBoolean": True}]}
    assert read_screen(floor(there, alone)).context.on_the_floor == OnTheFloor(gets_up_alone=True)
    raw = floor(there)
    item_of(raw, "context")["item"].append({"linkId": "context.on_the_floor"})
    assert read_screen(raw).context.on_the_floor == OnTheFloor()
    wrong = {"linkId": THERE, "answer": [{"valueString": "yes"}]}
    assert [rule for _, rule in faults_of(floor(wrong))] == ["form.answer_type"]


def test_one_of_many_in_which_nothing_is_answered_is_none() -> None:
    raw = full()
    places = {"signs": raw, "context.devices.listed": item_of(raw, "context")}
    for link, into in places.items():
        asked = item_of(full(), link)["item"][0]["linkId"]
        into["item"].insert(0, {"linkId": link, "item": [{"linkId": asked}]})
    assert read_screen(raw) == FULL
    unlimited = without(bare(), "context.devices")
    item_of(unlimited, "context")["item"].append({"linkId": "context.devices.listed"})
    assert read_screen(unlimited).context.devices == "any"


def test_a_question_at_fault_says_something_all_the_same() -> None:
    raw = bare()
    count = {"linkId": "tests.chair_stand_30s.count", "answer": [{"valueString": "8"}]}
    chair = {"linkId": "tests.chair_stand_30s", "item": [count]}
    raw["item"].append({"linkId": "tests", "item": [chair]})
    assert [rule for _, rule in faults_of(raw)] == ["form.answer_type", "shape.missing"]
