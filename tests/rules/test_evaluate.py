"""Does a requirement hold exactly where it should, and does its reason say what was seen?"""

from decimal import Decimal

import pytest

from service.domain.axis import GRADES, Axis, Number
from service.domain.citation import Citation, Standing
from service.domain.condition import Condition
from service.domain.reason import Reason, Status
from service.domain.requirement import Absent, AnyOf, Limit, Need, Requirement
from service.rules.evaluate import Judge, told
from tests.rules.profiles import best, best_but, profile

CITED = Citation("somewhere", Standing.RECALLED)


def need(axis: Axis = Axis.RISE, grade: str = "steadied") -> Need:
    return Need("m.rise", axis, grade, "Stands up", CITED)


def limit(comparison: str, tenths: int = 300) -> Limit:
    number = Number.STANDING_TIME_S
    return Limit("m.time", number, comparison, "stand_30_s", tenths, "Stands on", CITED)


def absent(condition: Condition = Condition.SPASMS) -> Absent:
    return Absent(f"m.no_{condition}", condition, "Legs stay still", CITED)


def either(*parts: Need | Limit | Absent) -> AnyOf:
    return AnyOf("m.any", parts, "One or the other", CITED)


@pytest.mark.parametrize("seen", GRADES[Axis.RISE])
def test_a_need_holds_from_its_grade_up(seen: str) -> None:
    reached = seen in ("steadied", "with_hands", "without_hands")
    assert Judge(best_but({Axis.RISE: seen})).holds(need()) is reached


@pytest.mark.parametrize(
    ("comparison", "holding"),
    [
        ("at_least", ["30", "30.1"]),
        ("at_most", ["29.9", "30"]),
        ("below", ["29.9"]),
    ],
)
def test_a_limit_holds_on_its_own_side(comparison: str, holding: list[str]) -> None:
    for seconds in ("29.9", "30", "30.1"):
        seen = profile({}, {Number.STANDING_TIME_S: Decimal(seconds)})
        assert Judge(seen).holds(limit(comparison)) is (seconds in holding)


@pytest.mark.parametrize("comparison", ["at_least", "at_most", "below"])
def test_a_number_that_is_not_known_holds_no_limit(comparison: str) -> None:
    assert not Judge(profile({})).holds(limit(comparison))


def test_absent_holds_until_the_condition_is_there() -> None:
    assert Judge(best(Condition.STOMA)).holds(absent())
    assert not Judge(best(Condition.SPASMS)).holds(absent())


def test_one_part_is_enough_for_any() -> None:
    one = either(need(), absent())
    assert Judge(best(Condition.SPASMS)).holds(one)
    assert Judge(best_but({Axis.RISE: "none"})).holds(one)
    assert not Judge(best_but({Axis.RISE: "none"}, Condition.SPASMS)).holds(one)


def test_a_judge_gives_the_same_answer_and_reason_each_time() -> None:
    judge, asked = Judge(best()), need()
    assert judge.holds(asked) and judge.holds(asked)
    assert judge.reason(asked) is judge.reason(asked)


@pytest.mark.parametrize(
    ("requirement", "about", "seen", "required", "status"),
    [
        (need(), "rise", "lifted", "at least steadied", Status.UNMET),
        (need(Axis.LEAN, "able"), "lean", "unknown", "at least able", Status.UNKNOWN),
        (need(Axis.ARMS, "one"), "arms", "both", "at least one", Status.MET),
        (limit("at_least"), "standing_time_s", "29.9", "at least 30", Status.UNMET),
        (limit("at_most"), "standing_time_s", "29.9", "at most 30", Status.MET),
        (limit("below", 305), "standing_time_s", "29.9", "below 30.5", Status.MET),
        (absent(), "spasms", "present", "absent", Status.FORBIDDEN),
        (absent(Condition.STOMA), "stoma", "absent", "absent", Status.MET),
    ],
)
def test_a_reason_says_what_was_seen_and_what_is_asked(
    requirement: Requirement, about: str, seen: str, required: str, status: Status
) -> None:
    person = profile(
        {Axis.RISE: "lifted", Axis.ARMS: "both"},
        {Number.STANDING_TIME_S: Decimal("29.9")},
        Condition.SPASMS,
    )
    expected = Reason(
        requirement.rule,
        about,
        seen,
        required,
        status,
        requirement.why,
        "somewhere",
        Standing.RECALLED,
    )
    assert Judge(person).reason(requirement) == expected


def test_a_limit_on_something_not_known_says_so() -> None:
    reason = Judge(profile({})).reason(limit("at_least"))
    assert (reason.seen, reason.status) == ("unknown", Status.UNKNOWN)


def test_any_is_told_part_by_part() -> None:
    person = best_but({Axis.RISE: "none"}, Condition.SPASMS)
    one = either(need(), absent())
    assert told(one, person) == (
        "rise or spasms",
        "rise: none; spasms: present",
        "rise at least steadied or spasms absent",
    )
    assert Judge(person).reason(one).status == Status.UNMET
