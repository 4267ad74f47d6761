"""Is the least supported open method chosen, and does what is missing only add support?"""

from decimal import Decimal

import pytest

from service.domain.axis import Axis, Number
from service.domain.condition import Condition
from service.domain.context import Context, DeviceAtHand
from service.domain.move import Move
from service.domain.profile import Profile
from service.domain.reason import Status
from service.rules.evaluate import Judge
from service.rules.load import load_book
from service.rules.select import Choice, because, margin, ruled_out, select
from tests.rules.profiles import BEST, TOLD, best, best_but, profile

BOOK = load_book()
SLING = DeviceAtHand(device_class="full_body_sling_lift", safe_working_load_kg=Decimal(300))


def chosen(seen: Profile, move: Move = Move.BED_TO_CHAIR, context: Context | None = None) -> Choice:
    return select(BOOK, BOOK.moves[move], Judge(seen), context or Context())


def method(seen: Profile, move: Move = Move.BED_TO_CHAIR, context: Context | None = None) -> str:
    return chosen(seen, move, context).option.method.id


# Each row takes one thing more from the one before it; the methods as their table has them.
LESS: list[tuple[dict[Axis, str], tuple[Condition, ...], str]] = [
    ({}, (), "unaided"),
    ({}, (Condition.FALL_IN_YEAR,), "standby"),
    ({Axis.CLEARANCE: "review"}, (), "standby"),
    ({Axis.COOPERATION: "prompted"}, (), "belt_steadied"),
    ({Axis.STEP: "helped", Axis.RISE: "steadied"}, (), "belt_steadied"),
    ({Axis.STEP: "helped"}, (Condition.STOMA,), "stand_aid"),
    ({Axis.STEP: "none"}, (), "stand_aid"),
    ({Axis.STEP: "none", Axis.ARMS: "one"}, (), "powered_stand_lift"),
    ({Axis.STEP: "none", Axis.LEAN: "helped"}, (), "powered_stand_lift"),
    ({Axis.WEIGHT_BEARING: "none"}, (), "transfer_board"),
    ({Axis.WEIGHT_BEARING: "none", Axis.ARMS: "one"}, (), "sling_lift"),
    ({Axis.COOPERATION: "none"}, (), "sling_lift"),
    ({Axis.UPRIGHT: "withhold"}, (), "do_not_move"),
    ({Axis.CLEARANCE: "withhold"}, (), "do_not_move"),
    ({Axis.CLEARANCE: "unknown"}, (), "do_not_move"),
]


@pytest.mark.parametrize(("grades", "conditions", "expected"), LESS)
def test_what_is_taken_away_moves_the_choice_to_more_support(
    grades: dict[Axis, str], conditions: tuple[Condition, ...], expected: str
) -> None:
    assert method(best_but(grades, *conditions)) == expected


@pytest.mark.parametrize("move", Move)
def test_withheld_clearance_moves_nobody(move: Move) -> None:
    assert method(best_but({Axis.CLEARANCE: "withhold"}), move) == "do_not_move"


@pytest.mark.parametrize("move", Move)
def test_of_a_person_nothing_is_known_of_nothing_is_chosen(move: Move) -> None:
    choice = chosen(profile({}), move)
    assert choice.moves_nobody
    assert choice.lacking == ()
    assert choice.interim.method.id == "do_not_move"


@pytest.mark.parametrize("move", Move)
def test_the_options_stand_in_the_order_of_support_and_end_with_the_last_resort(
    move: Move,
) -> None:
    support = [option.method.support for option in BOOK.moves[move].options]
    assert support == sorted(support)
    assert BOOK.moves[move].options[-1].method.id == "do_not_move"


def test_a_missing_device_moves_the_choice_to_more_support() -> None:
    weak = best_but({Axis.STEP: "none"})
    assert method(weak) == "stand_aid"
    assert method(weak, context=Context(devices=[SLING])) == "sling_lift"
    assert chosen(weak, context=Context(devices=[SLING])).lacking == ()


def test_a_missing_helper_makes_the_person_wait_and_never_go_alone() -> None:
    watched = best(Condition.FALL_IN_YEAR)
    choice = chosen(watched, context=Context(trained_helpers=0))
    assert choice.moves_nobody
    assert [reason.about for reason in choice.lacking] == ["trained_helpers"]
    assert because(choice, Judge(watched)) == choice.lacking


def test_while_a_plan_is_lapsed_the_most_supported_open_method_stands() -> None:
    assert chosen(best()).interim.method.id == "sling_lift"
    assert chosen(best(), Move.WALK).interim.method.id == "stand_aid"


def test_because_names_what_is_met_and_leaves_out_what_is_absent() -> None:
    seen = best_but({Axis.STEP: "none"})
    told = because(chosen(seen), Judge(seen))
    assert {reason.status for reason in told} == {Status.MET}
    about = {reason.about for reason in told}
    assert {"clearance", "cooperation", "arms", "lean", "rise", "standing_time_s"} <= about
    assert not about & {"sternal_precaution", "shoulder_injury"}


def test_because_of_nobody_moved_names_what_stands_against_the_most_supported_method() -> None:
    seen = best_but({Axis.CLEARANCE: "withhold"})
    (told,) = because(chosen(seen), Judge(seen))
    assert (told.about, told.seen, told.status) == ("clearance", "withhold", Status.UNMET)


def test_of_several_supported_methods_the_last_one_says_why_nobody_is_moved() -> None:
    seen = best(Condition.UNSTABLE_SPINE)
    told = because(chosen(seen), Judge(seen))
    assert "sling_lift.no_unstable_spine" in {reason.rule for reason in told}


def test_an_either_or_that_rests_on_an_absence_is_left_out() -> None:
    seen = best_but({Axis.SHIFT: "none"})
    choice = chosen(seen, Move.BED_TO_STRETCHER)
    assert choice.option.method.id == "slide_sheet"
    assert "slide_sheet.any" not in {reason.rule for reason in because(choice, Judge(seen))}


def test_everything_that_rules_a_method_out_is_told() -> None:
    seen = best_but({Axis.STEP: "none", Axis.ARMS: "one"}, Condition.STOMA)
    choice = chosen(seen, context=Context(devices=[SLING]))
    told = {
        each.method: {reason.about for reason in each.reasons}
        for each in ruled_out(BOOK, choice, Move.BED_TO_CHAIR, Judge(seen))
    }
    assert choice.option.method.id == "sling_lift"
    assert {"step"} <= told["unaided"]
    assert {"step", "stoma", "transfer_belt"} <= told["belt_steadied"]
    assert {"arms", "stand_aid"} <= told["stand_aid"]
    assert "sling_lift" not in told


def named(grades: dict[Axis, str], seconds: str) -> tuple[str, ...]:
    numbers = TOLD | {Number.STANDING_TIME_S: Decimal(seconds)}
    seen = profile(BEST | {Axis.COOPERATION: "prompted"} | grades, numbers)
    choice = chosen(seen)
    assert choice.option.method.id == "belt_steadied"
    return margin(BOOK, choice, Judge(seen))


def test_what_only_just_passes_is_named() -> None:
    assert named({}, "60") == ("cooperation",)
    assert named({}, "33") == ("cooperation",)
    assert named({}, "32.9") == ("cooperation", "standing_time_s")
    just = {Axis.RISE: "steadied", Axis.KNEE_STRONGER: "3"}
    assert set(named(just, "60")) == {"cooperation", "rise", "knee_stronger"}


def test_nothing_only_just_passes_where_the_best_is_asked_and_reached() -> None:
    assert margin(BOOK, chosen(best()), Judge(best())) == ("standing_time_s",)
    long = profile(BEST, TOLD | {Number.STANDING_TIME_S: Decimal(90)})
    assert margin(BOOK, chosen(long), Judge(long)) == ()
    assert margin(BOOK, chosen(profile({})), Judge(profile({}))) == ()
