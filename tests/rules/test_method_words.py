"""Does each method say the facts of the trade, step by step?"""

import re
from decimal import Decimal

import pytest

from service.domain.move import Move
from service.domain.plan import Brakes
from service.rules.book import Method, RuleBook
from service.rules.load import load_book

LOCKED, RELEASED = Brakes.LOCKED, Brakes.RELEASED

# method and where it stands: fact of the trade · what must be read there · brakes at that step
FACTS: dict[tuple[str, str], tuple[tuple[str, str, Brakes | None], ...]] = {
    ("stand_aid", "steps"): (
        ("brakes are locked on both sides", r"lock the brakes of the aid on both sides", LOCKED),
        ("the person rises with the brakes locked", r"pulls up to stand", LOCKED),
        ("the person sits with the brakes locked", r"holds the bar and sits down", LOCKED),
        ("the brakes are released to move", r"release the brakes\. move the aid", RELEASED),
        ("wheelchair and bed are locked", r"brakes of the bed, chair or wheelchair", LOCKED),
        ("the feet are on the foot plate", r"both feet flat on the foot plate", LOCKED),
        ("the knee support is just below the knee", r"knee support just below the knee", LOCKED),
        ("the person pulls up with the arms", r"pulls up to stand with both arms", LOCKED),
        ("the seat halves come in and are sat on", r"seat halves in .* sits down on them", LOCKED),
        (
            "the person stands again at the far side",
            r"stands up again\. swing the seat halves away",
            LOCKED,
        ),
        (
            "a strap is not opened under tension",
            r"never open it under tension.*leans forward.*slack.*open it and guide them down",
            LOCKED,
        ),
        (
            "the aid goes as near to the toilet as possible",
            r"as near to the toilet as possible\. lock the brakes",
            LOCKED,
        ),
        (
            "the aid is out of reach before privacy",
            r"take the aid out of the person's reach",
            RELEASED,
        ),
        (
            "staff stay at the toilet where needed",
            r"stay when balance, cooperation or strength call for it",
            LOCKED,
        ),
        (
            "back in the chair the aid is pushed forward",
            r"stands clear of the seat.*push the aid forward",
            RELEASED,
        ),
        ("the foot plate comes off for early walking", r"take the foot plate off", LOCKED),
        (
            "one helper lifts one leg only of the lighter",
            r"one leg at a time.*up to 64 kg.*leg lifter, or two helpers a leg",
            LOCKED,
        ),
    ),
    ("stand_aid", "cautions"): (
        ("a strap is not opened under tension", r"never open a strap under tension", None),
        ("nobody is left alone in the aid", r"never leave the person alone in the aid", None),
    ),
    ("powered_stand_lift", "steps"): (
        ("a strap is not opened under tension", r"never open a strap under tension", None),
    ),
    ("sling_lift", "steps"): (
        (
            "staff stay at the toilet where needed",
            r"stay when balance, cooperation or strength",
            None,
        ),
        ("nobody pulls from behind", r"nobody pulls from behind", None),
        ("sling type and size are the maker's", r"sling type and size that its maker states", None),
        ("the loops are checked", r"hook up every loop\. check each", None),
        ("the lift stops a few centimetres up", r"lift a few centimetres and stop\. check", None),
        (
            "the lift's brakes are as its maker says",
            r"brakes of the lift, follow the maker's instructions",
            LOCKED,
        ),
    ),
    ("belt_steadied", "steps"): (
        (
            "staff stay at the toilet where needed",
            r"stay when balance, cooperation or strength",
            None,
        ),
    ),
    ("powered_stand_lift", "cautions"): (
        ("nobody is left alone in the lift", r"never leave the person alone", None),
    ),
    ("sling_lift", "cautions"): (
        ("nobody is left alone in the lift", r"never leave the person alone", None),
        ("fragile skin is lifted clear", r"lift clear, do not slide", None),
        ("two people work the sling lift", r"two helpers at least", None),
    ),
    ("belt_steadied", "cautions"): (
        ("the belt only steadies", r"belt steadies\. never lift, carry or catch", None),
    ),
    ("slide_sheet", "cautions"): (
        ("nobody pulls from the head end", r"nobody pulls from the head end", None),
        ("never one person", r"never one person", None),
    ),
    ("air_transfer_mat", "cautions"): (
        ("nobody pulls from the head end", r"nobody pulls from the head end", None),
        ("never one person", r"never one person", None),
    ),
    ("recline_and_slide", "cautions"): (
        ("nobody pulls from behind", r"nobody pulls from behind", None),
        ("never one person", r"never one person", None),
    ),
    ("knee_push", "cautions"): (("nobody pulls from behind", r"nobody pulls from behind", None),),
    ("do_not_move", "steps"): (
        ("who stays in bed is made comfortable", r"make them comfortable", None),
        ("the clinician in charge is called", r"call the clinician in charge", None),
        ("what holds the move back is treated", r"treat what holds the move back", None),
        ("a new screen follows", r"screen again", None),
    ),
}

STOPS = {
    "stop_spo2_fall_above": r"oxygen level falls by more than (\d+) points",
    "stop_systolic_above": r"upper blood pressure goes over (\d+)",
    "stop_respiratory_rate_below": r"fewer than (\d+) or more than \d+ breaths",
    "stop_respiratory_rate_above": r"fewer than \d+ or more than (\d+) breaths",
}


@pytest.fixture(scope="module")
def book() -> RuleBook:
    return load_book()


def texts_of(method: Method, part: str) -> list[str]:
    return [each.text for each in getattr(method, part)]


@pytest.mark.parametrize(
    ("name", "part", "fact", "pattern", "brakes"),
    [(*place, *fact) for place, facts in FACTS.items() for fact in facts],
)
def test_a_fact_of_the_trade_stands_where_it_is_needed(
    book: RuleBook, name: str, part: str, fact: str, pattern: str, brakes: Brakes | None
) -> None:
    said = [
        each for each in getattr(book.methods[name], part) if re.search(pattern, each.text.lower())
    ]
    assert said, fact
    if brakes is not None:
        assert {each.brakes for each in said} == {brakes}, fact


@pytest.mark.parametrize(("parameter", "pattern"), STOPS.items())
def test_a_stop_sign_tells_the_number_of_its_parameter(
    book: RuleBook, parameter: str, pattern: str
) -> None:
    for name, method in book.methods.items():
        told = [re.search(pattern, text.lower()) for text in texts_of(method, "stop_signs")]
        numbers = [Decimal(found.group(1)) for found in told if found]
        assert numbers == [book.parameters[parameter].value], name


def test_every_move_that_begins_names_what_stops_it_and_what_to_do_then(book: RuleBook) -> None:
    for name, method in book.methods.items():
        signs = {sign.rule.rsplit(".", 1)[-1] for sign in method.stop_signs}
        assert {"spo2_fall", "systolic_high", "breathing", "heart_rhythm", "new_pain"} <= signs, (
            name
        )
        assert "what_then" in signs, name
        if name != "do_not_move":
            assert "refusal" in signs and "dizziness" in signs, name
        if method.needs_standing:
            assert "buckling" in signs, name


def test_every_move_of_a_method_has_steps(book: RuleBook) -> None:
    for move, rules in book.moves.items():
        for option in rules.options:
            steps = [s for s in option.method.steps if not s.moves or move in s.moves]
            assert len(steps) >= 2, (move, option.method.id)


def test_the_weight_in_the_limb_step_is_the_one_of_its_parameter(book: RuleBook) -> None:
    limit = book.parameters["one_helper_leg_lift_up_to_kg"].value
    share = book.parameters["leg_mass_percent"].value
    assert limit * share / 100 <= book.parameters["limb_two_hand_kg"].value
    for name in ("stand_aid", "belt_steadied", "powered_stand_lift", "transfer_board"):
        steps = [s for s in book.methods[name].steps if f"up to {limit} kg" in s.text]
        assert [step.moves for step in steps] == [frozenset({Move.CHAIR_TO_BED})]


def test_a_back_strap_is_due_for_each_of_its_reasons_alone(book: RuleBook) -> None:
    straps = [
        a for a in book.methods["stand_aid"].accessories if a.accessory == "back_support_strap"
    ]
    rules = {strap.unless.rule for strap in straps if strap.unless is not None}
    assert rules == {
        "stand_aid.sitting",
        "stand_aid.no_leaning_back",
        "stand_aid.standing_time_s",
        "stand_aid.knee_weaker",
    }
