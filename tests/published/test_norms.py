"""Does every cut point stand where its source puts it?

The tables are typed from the sources, apart from the rule files. "seen" = seen in the source
or a restatement of it; "recalled" = from memory.
"""

from decimal import Decimal

import pytest

from service.domain.citation import Standing
from service.domain.subject import Sex
from tests.rules.measured import NORMS, judgement, outcome, score

M, F = Sex.MALE, Sex.FEMALE

# CDC 30-second chair stand, below average if fewer than (men, women). Seen: two restatements.
CHAIR_STAND = {
    (60, 64): (14, 12),
    (65, 69): (12, 11),
    (70, 74): (12, 10),
    (75, 79): (11, 10),
    (80, 84): (10, 9),
    (85, 89): (8, 8),
    (90, 94): (7, 4),
}
CHAIR_STAND_EDGES = [
    (age, sex, least)
    for ages, cuts in CHAIR_STAND.items()
    for age in (ages[0], ages[0] + 2, ages[1])
    for sex, least in zip((M, F), cuts, strict=True)
]


def _stands(count: int, **changed: object) -> dict[str, object]:
    return {"count": count, "arms_used": False} | changed


@pytest.mark.parametrize(("age", "sex", "least"), CHAIR_STAND_EDGES)
def test_chair_stand_is_below_average_under_the_count_of_the_table(
    age: int, sex: Sex, least: int
) -> None:
    rule = "chair_stand_30s.cdc"
    assert outcome(rule, _stands(least - 1), age, sex) == "below_average"
    assert outcome(rule, _stands(least), age, sex) == "average_or_better"
    # Seen: with the arms used the score is zero, which is below every row.
    assert outcome(rule, _stands(least, arms_used=True), age, sex) == "below_average"


@pytest.mark.parametrize("age", [18, 59, 95, 130])
def test_chair_stand_has_no_norm_outside_60_to_94_years(age: int) -> None:
    found = judgement(score("chair_stand_30s", _stands(9), age), "chair_stand_30s.cdc")
    assert found.outcome is None
    assert found.note is not None
    assert found.note.startswith("No norm for this person")


# Single cut points: (rule, raw field, value, outcome). m/s rows walk 10 m.
CUTS = [
    # CDC 2017, 12 s or longer. Seen: restatement.
    ("timed_up_and_go.cdc", "seconds", "11.99", "not_at_risk"),
    ("timed_up_and_go.cdc", "seconds", "12", "at_risk"),
    # EWGSOP2 2019, 20 s or longer. Seen: restatement.
    ("timed_up_and_go.ewgsop2", "seconds", "19.99", "not_low"),
    ("timed_up_and_go.ewgsop2", "seconds", "20", "low"),
    # EWGSOP2 2019, more than 15 s. Seen: restatement.
    ("five_times_sit_to_stand.ewgsop2", "seconds", "15", "not_low"),
    ("five_times_sit_to_stand.ewgsop2", "seconds", "15.01", "low"),
    # Duncan 1992: less than 10 in; 6 in or less. Seen: abstract of the paper.
    ("functional_reach.duncan", "reach_cm", "25.39", "at_risk"),
    ("functional_reach.duncan", "reach_cm", "25.4", "not_at_risk"),
    ("functional_reach.duncan_short", "reach_cm", "15.2", "at_high_risk"),
    ("functional_reach.duncan_short", "reach_cm", "15.24", "at_high_risk"),
    ("functional_reach.duncan_short", "reach_cm", "15.25", "not_at_high_risk"),
    # CDC: tandem stance under 10 s. Seen: restatements of the form.
    ("four_stage_balance.cdc", "tandem_s", "9.99", "at_risk"),
    ("four_stage_balance.cdc", "tandem_s", "10", "not_at_risk"),
]


@pytest.mark.parametrize(("rule", "field", "value", "expected"), CUTS)
def test_each_cut_point_falls_on_the_side_its_source_says(
    rule: str, field: str, value: str, expected: str
) -> None:
    assert outcome(rule, {field: value}) == expected


# Seconds for 4 m, so that the speed is exact or just off it.
GAIT = [
    # Perry 1995: < 0.4, 0.4-0.8, > 0.8 m/s. Seen: restatements.
    ("gait_speed.perry", "10.01", "household"),
    ("gait_speed.perry", "10", "limited_community"),
    ("gait_speed.perry", "5", "limited_community"),
    ("gait_speed.perry", "4.99", "community"),
    # EWGSOP2 2019: 0.8 m/s or slower. Seen: restatement.
    ("gait_speed.ewgsop2", "5", "low"),
    ("gait_speed.ewgsop2", "4.9999999999999999999999999999999", "not_low"),
    # Cesari 2005: slower than 1.0 m/s. Seen: abstract of the paper.
    ("gait_speed.cesari", "4.0000000000000000000000000000001", "at_risk"),
    ("gait_speed.cesari", "4", "not_at_risk"),
]


@pytest.mark.parametrize(("rule", "seconds", "expected"), GAIT)
def test_gait_speed_is_judged_on_the_exact_quotient(rule: str, seconds: str, expected: str) -> None:
    assert outcome(rule, {"distance_m": "4", "seconds": seconds}) == expected


@pytest.mark.parametrize(("seconds", "expected"), [("10", "low"), ("9.99", "not_low")])
def test_gait_speed_of_0_6_or_slower_is_low(seconds: str, expected: str) -> None:
    # Cummings 2014: 0.6 m/s or slower, here over 6 m. Recalled.
    assert outcome("gait_speed.cummings", {"distance_m": "6", "seconds": seconds}) == expected


@pytest.mark.parametrize(
    ("sex", "kg", "expected"),
    # EWGSOP2 2019: under 27 kg men, under 16 kg women. Seen: restatement.
    [(M, "26.99", "low"), (M, "27", "not_low"), (F, "15.99", "low"), (F, "16", "not_low")],
)
def test_grip_is_low_under_the_cut_point_of_the_sex(sex: Sex, kg: str, expected: str) -> None:
    raw = {"left_kg": "3.5", "right_kg": kg}
    assert outcome("hand_grip.ewgsop2", raw, sex=sex) == expected


@pytest.mark.parametrize(("ankle", "total", "expected"), [(3, 47, "low"), (4, 48, "not_low")])
def test_mrc_sum_is_low_under_48_of_60(ankle: int, total: int, expected: str) -> None:
    # De Jonghe 2002: under 48 of 60. Seen: restatements.
    groups = ("shoulder_abduction", "elbow_flexion", "wrist_extension", "hip_flexion")
    side = dict.fromkeys((*groups, "knee_extension", "ankle_dorsiflexion"), 4)
    raw = {"left": side | {"ankle_dorsiflexion": ankle}, "right": side}
    assert score("mrc_sum", raw).score == total
    assert outcome("mrc_sum.weakness", raw) == expected


# (test, kind) -> value, unit, standing. Sources as in the norm files.
CHANGES = {
    ("gait_speed", "small"): ("0.05", "m/s", "published"),  # Perera 2006, seen restated
    ("gait_speed", "substantial"): ("0.10", "m/s", "published"),  # Perera 2006, seen restated
    ("chair_stand_30s", "minimal_detectable"): ("2.5", "{stands}", "published"),  # Gill, seen
    ("five_times_sit_to_stand", "minimal_detectable"): ("3.6", "s", "published"),  # seen
    ("five_times_sit_to_stand", "minimal_important"): ("2.3", "s", "published"),  # seen
    ("timed_up_and_go", "minimal_detectable"): ("3.5", "s", "recalled"),
}


def test_the_changes_that_count_are_the_published_ones() -> None:
    found = {
        (test, each.kind): (str(each.value), each.unit, each.standing.value)
        for test, norm in NORMS.norms.items()
        for each in norm.change
    }
    assert found == CHANGES


def test_an_important_change_below_the_detectable_one_is_only_possible() -> None:
    for norm in NORMS.norms.values():
        kinds = {each.kind: each for each in norm.change}
        important = kinds.get("minimal_important")
        if important is not None:
            assert important.value < kinds["minimal_detectable"].value
            assert important.claim == "possible"


def test_timed_standing_claims_no_change() -> None:
    assert NORMS.norms["timed_stand"].change == ()
    assert NORMS.norms["timed_stand"].no_change


def test_what_was_not_seen_says_that_it_is_recalled() -> None:
    recalled = {
        f"{test}.{rule.id}"
        for test, norm in NORMS.norms.items()
        for rule in norm.rules
        if rule.standing is Standing.RECALLED
    }
    assert recalled == {"gait_speed.cummings"}


def test_the_3_m_gait_cuts_are_nowhere_among_the_4_m_ones() -> None:
    cuts = {row.value for table in NORMS.norms["sppb"].points for row in table.rows}
    assert cuts.isdisjoint({Decimal("3.62"), Decimal("4.65"), Decimal("6.52")})


@pytest.mark.parametrize("stance", ["side_by_side_s", "semi_tandem_s", "tandem_s", "one_leg_s"])
@pytest.mark.parametrize(("seconds", "held"), [("9.99", 0), ("10", 1), ("10.01", 1)])
def test_a_stance_is_held_from_10_s_on(stance: str, seconds: str, held: int) -> None:
    # CDC: each of the four stances is to be held for 10 s. Seen: restatements of the form.
    assert score("four_stage_balance", {stance: seconds}).score == held
