"""Is what is not there found missing, and who is needed counted?"""

from decimal import Decimal

import pytest

from service.domain.axis import Axis, Number
from service.domain.condition import Condition
from service.domain.context import Context, DeviceAtHand, DeviceStatus
from service.domain.move import Move
from service.domain.reason import Reason, Status
from service.rules.book import Option
from service.rules.evaluate import Judge
from service.rules.load import load_book
from service.rules.means import device_at_hand, expanded, helper_count, missing, usable
from tests.rules.profiles import BEST, best, best_but, profile

BOOK = load_book()


def option(method: str, move: Move = Move.BED_TO_CHAIR) -> Option:
    return next(each for each in BOOK.moves[move].options if each.method.id == method)


def counted(chosen: Option, *conditions: Condition) -> int | None:
    helpers, reasons = helper_count(chosen, Judge(best(*conditions)))
    assert helpers is None or reasons
    return helpers


@pytest.mark.parametrize(
    ("method", "move", "helpers"),
    [
        ("unaided", Move.BED_TO_CHAIR, 0),
        ("walking_aid", Move.WALK, 0),
        ("standby", Move.BED_TO_CHAIR, 1),
        ("belt_steadied", Move.BED_TO_CHAIR, 1),
        ("stand_aid", Move.BED_TO_CHAIR, 1),
        ("stand_aid", Move.REPOSITION_IN_CHAIR, 2),
        ("transfer_board", Move.BED_TO_CHAIR, 1),
        ("powered_stand_lift", Move.BED_TO_CHAIR, 1),
        ("sling_lift", Move.BED_TO_CHAIR, 2),
        ("slide_sheet", Move.BED_TO_STRETCHER, 2),
        ("lateral_board", Move.BED_TO_STRETCHER, 2),
        ("air_transfer_mat", Move.BED_TO_STRETCHER, 2),
        ("mechanical_lateral", Move.BED_TO_STRETCHER, 2),
        ("recline_and_slide", Move.REPOSITION_IN_CHAIR, 2),
        ("knee_push", Move.REPOSITION_IN_CHAIR, 1),
        ("floor_air_lift", Move.UP_FROM_FLOOR, 2),
        ("do_not_move", Move.BED_TO_CHAIR, None),
    ],
)
def test_a_cooperative_adult_of_70_kg_needs_the_helpers_of_the_method(
    method: str, move: Move, helpers: int | None
) -> None:
    assert counted(option(method, move)) == helpers


@pytest.mark.parametrize(
    ("method", "move"),
    [
        ("standby", Move.BED_TO_CHAIR),
        ("stand_aid", Move.BED_TO_CHAIR),
        ("sling_lift", Move.BED_TO_CHAIR),
        ("air_transfer_mat", Move.BED_TO_STRETCHER),
    ],
)
def test_tubes_and_lines_take_one_helper_more(method: str, move: Move) -> None:
    chosen = option(method, move)
    before, with_lines = counted(chosen), counted(chosen, Condition.TUBES_OR_LINES)
    assert before is not None and with_lines == before + 1


def test_a_very_heavy_person_takes_three_and_two_at_a_stand_lift() -> None:
    heavy = Condition.VERY_HEAVY
    assert counted(option("sling_lift"), heavy) == 3
    assert counted(option("floor_air_lift", Move.UP_FROM_FLOOR), heavy) == 3
    assert counted(option("powered_stand_lift"), heavy) == 2
    assert counted(option("sling_lift"), heavy, Condition.TUBES_OR_LINES) == 4
    assert expanded(best(heavy)) and not expanded(best())


def test_somebody_held_while_sitting_takes_two_at_a_stand_lift() -> None:
    held = Judge(best_but({Axis.SITTING: "supported"}))
    assert helper_count(option("powered_stand_lift"), held)[0] == 2


def test_each_helper_has_its_reason() -> None:
    judge = Judge(best(Condition.VERY_HEAVY, Condition.TUBES_OR_LINES))
    _, reasons = helper_count(option("sling_lift"), judge)
    assert [reason.required for reason in reasons] == ["2", "at least 3", "1 more"]
    assert {(reason.about, reason.status) for reason in reasons} == {("helpers", Status.MET)}
    assert all(reason.source in BOOK.sources for reason in reasons)


def lacks(method: str, context: Context) -> list[tuple[str, str, str]]:
    told: tuple[Reason, ...] = missing(BOOK, context, option(method), Judge(best()))
    assert all(reason.status == Status.MISSING for reason in told)
    return [(reason.about, reason.seen, reason.required) for reason in told]


def test_too_few_helpers_are_missing_and_enough_are_not() -> None:
    assert lacks("sling_lift", Context(trained_helpers=1)) == [
        ("trained_helpers", "1", "at least 2")
    ]
    assert lacks("sling_lift", Context(trained_helpers=2)) == []
    assert lacks("unaided", Context(trained_helpers=0)) == []
    assert lacks("do_not_move", Context(trained_helpers=0, devices=[])) == []


def aid(
    load: str | None = "150",
    status: DeviceStatus = DeviceStatus.READY,
    kind: str = "stand_aid",
    label: str | None = None,
) -> DeviceAtHand:
    carries = None if load is None else Decimal(load)
    return DeviceAtHand(device_class=kind, safe_working_load_kg=carries, status=status, label=label)


@pytest.mark.parametrize(
    ("devices", "seen"),
    [
        ([], "none"),
        ([aid(kind="slide_sheet")], "none"),
        ([aid("69.9")], "ready"),
        ([aid(None)], "ready"),
        ([aid(status=DeviceStatus.OVERDUE)], "overdue"),
        (
            [aid(status=DeviceStatus.QUARANTINED), aid(status=DeviceStatus.DEFECTIVE)],
            "defective, quarantined",
        ),
    ],
)
def test_a_device_that_is_not_ready_or_not_strong_enough_is_missing(
    devices: list[DeviceAtHand], seen: str
) -> None:
    asked = "one that is ready and whose safe working load carries the person"
    assert lacks("stand_aid", Context(devices=devices)) == [("stand_aid", seen, asked)]
    assert lacks("standby", Context(devices=devices)) == []


def test_the_first_usable_device_is_taken() -> None:
    devices = [aid("60", label="small"), aid("70", label="right"), aid("200", label="large")]
    taken = device_at_hand(BOOK, Context(devices=devices), "stand_aid", best())
    assert taken is not None and taken.label == "right"
    assert lacks("stand_aid", Context(devices=devices)) == []


def test_no_device_is_named_where_none_is_wanted_or_any_can_be_had() -> None:
    assert device_at_hand(BOOK, Context(devices=[aid()]), None, best()) is None
    assert device_at_hand(BOOK, Context(), "stand_aid", best()) is None


def test_a_person_of_unknown_mass_is_carried_by_no_listed_device() -> None:
    unweighed = profile(BEST, {Number.STANDING_TIME_S: Decimal(60)})
    assert not usable(BOOK, aid("1000"), "stand_aid", unweighed)


def test_what_carries_nobody_needs_no_safe_load() -> None:
    belt = aid(None, kind="transfer_belt")
    assert usable(BOOK, belt, "transfer_belt", best())
    overdue = aid(None, DeviceStatus.OVERDUE, "transfer_belt")
    assert not usable(BOOK, overdue, "transfer_belt", best())
