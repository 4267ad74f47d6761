"""Are the tests that were done scored, each once, in order, and never better for less?"""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.measured_tests import MeasuredTests
from service.domain.subject import Sex
from tests.rules.measured import NORMS, judgement, outcome, score, scores

SIDE = dict.fromkeys(
    (
        "shoulder_abduction",
        "elbow_flexion",
        "wrist_extension",
        "hip_flexion",
        "knee_extension",
        "ankle_dorsiflexion",
    ),
    5,
)
EVERY_TEST: dict[str, dict[str, Any]] = {
    "sppb": {
        "side_by_side_s": "10",
        "semi_tandem_s": "10",
        "tandem_s": "4",
        "chair_stands_s": "12.5",
        "gait_4m_s": "5",
    },
    "mrc_sum": {"left": SIDE, "right": SIDE},
    "hand_grip": {"left_kg": "20.5", "right_kg": "18"},
    "functional_reach": {"reach_cm": "20.0"},
    "four_stage_balance": {"side_by_side_s": "10", "semi_tandem_s": "10", "tandem_s": "4"},
    "gait_speed": {"distance_m": "4", "seconds": "6"},
    "timed_up_and_go": {"seconds": "12.50"},
    "five_times_sit_to_stand": {"seconds": "14"},
    "chair_stand_30s": {"count": 9, "arms_used": False},
}


def test_every_test_done_gets_one_score_in_the_order_of_the_screen() -> None:
    found = scores(EVERY_TEST)
    assert [each.test for each in found] == list(MeasuredTests.__struct_fields__)


def test_a_test_that_was_not_done_gets_no_score() -> None:
    assert scores({}) == ()
    assert [each.test for each in scores({"timed_up_and_go": {"seconds": "9"}})] == [
        "timed_up_and_go"
    ]


def test_scores_carry_their_value_unit_and_parts() -> None:
    found = {each.test: (each.score, each.unit, each.parts) for each in scores(EVERY_TEST)}
    assert found == {
        "chair_stand_30s": (9, "{stands}", {"count": 9}),
        "five_times_sit_to_stand": (14, "s", {}),
        "timed_up_and_go": (Decimal("12.50"), "s", {}),
        "gait_speed": (Decimal("0.666"), "m/s", {"distance_m": 4, "seconds": 6}),
        "four_stage_balance": (
            2,
            "{stances}",
            {"side_by_side_s": 10, "semi_tandem_s": 10, "tandem_s": 4},
        ),
        "functional_reach": (20, "cm", {}),
        "hand_grip": (Decimal("20.5"), "kg", {"left_kg": Decimal("20.5"), "right_kg": 18}),
        "mrc_sum": (60, "{score}", {"left": 30, "right": 30}),
        "sppb": (9, "{score}", {"balance": 3, "chair_stands": 3, "gait": 3}),
    }


def test_a_measured_value_keeps_its_digits() -> None:
    assert str(score("timed_up_and_go", {"seconds": "12.50"}).score) == "12.50"


def test_every_judgement_names_its_rule_source_and_cut_point() -> None:
    for found in scores(EVERY_TEST):
        assert found.judgements
        for each in found.judgements:
            assert each.rule.startswith(f"{found.test}.")
            assert each.source
            assert each.cut_point
            assert each.outcome
            assert each.text
            assert each.note is None


def test_a_cut_point_is_written_with_its_comparison_and_unit() -> None:
    tug = score("timed_up_and_go", {"seconds": "13"})
    assert [each.cut_point for each in tug.judgements] == ["≥ 12 s", "≥ 20 s"]
    gait = score("gait_speed", {"distance_m": "4", "seconds": "5"})
    assert judgement(gait, "gait_speed.perry").cut_point == "< 0.4; ≤ 0.8 m/s"
    tandem = score("four_stage_balance", {"tandem_s": "3"})
    assert tandem.judgements[0].cut_point == "< 10 s"


@pytest.mark.parametrize("sex", [Sex.OTHER, Sex.UNKNOWN, None])
@pytest.mark.parametrize("test", ["chair_stand_30s", "hand_grip"])
def test_a_sex_without_a_norm_is_scored_and_not_judged(test: str, sex: Sex | None) -> None:
    found = score(test, EVERY_TEST[test], sex=sex)
    (only,) = found.judgements
    assert found.score is not None
    assert (only.outcome, only.cut_point) == (None, "")
    assert only.note == only.text
    assert only.text.startswith("No norm for this person")


def test_stands_made_with_the_arms_score_zero_and_are_kept_as_a_part() -> None:
    found = score("chair_stand_30s", {"count": 14, "arms_used": True})
    assert found.score == 0
    assert found.parts == {"count": Decimal(14)}


def test_five_stands_that_cannot_be_finished_are_low() -> None:
    found = score("five_times_sit_to_stand", {"seconds": None})
    (only,) = found.judgements
    assert found.score is None
    assert only.outcome == "low"
    assert only.note is not None
    assert "never counts as able" in only.note


@pytest.mark.parametrize("raw", [{"side_by_side_s": "8"}, {"side_by_side_s": "10"}])
def test_a_tandem_stance_not_reached_is_at_risk(raw: dict[str, str]) -> None:
    only = score("four_stage_balance", raw).judgements[0]
    assert only.outcome == "at_risk"
    assert only.note is not None
    assert "never counts as able" in only.note


@pytest.mark.parametrize("test", ["four_stage_balance", "hand_grip"])
def test_a_test_sent_without_any_result_is_not_judged(test: str) -> None:
    found = score(test, {})
    (only,) = found.judgements
    assert found.score is None
    assert only.outcome is None
    assert only.note == only.text == "Nothing was measured, so nothing is judged."


@pytest.mark.parametrize("raw", [{"left_kg": "30"}, {"right_kg": "30"}])
def test_one_hand_is_enough_for_grip(raw: dict[str, str]) -> None:
    assert score("hand_grip", raw).score == 30


def test_a_shown_speed_never_flatters() -> None:
    found = score("gait_speed", {"distance_m": "4", "seconds": "4.001"})
    assert found.score == Decimal("0.999")
    assert judgement(found, "gait_speed.cesari").outcome == "at_risk"


WORST_FIRST = {
    "timed_up_and_go.cdc": ["at_risk", "not_at_risk"],
    "timed_up_and_go.ewgsop2": ["low", "not_low"],
    "five_times_sit_to_stand.ewgsop2": ["low", "not_low"],
    "gait_speed.perry": ["household", "limited_community", "community"],
    "gait_speed.ewgsop2": ["low", "not_low"],
    "gait_speed.cesari": ["at_risk", "not_at_risk"],
    "gait_speed.cummings": ["low", "not_low"],
}
SLOW = st.decimals("0.1", "3600", places=3)


@pytest.mark.parametrize("rule", WORST_FIRST)
@given(first=SLOW, second=SLOW)
def test_slower_is_never_judged_better(rule: str, first: Decimal, second: Decimal) -> None:
    def rank(seconds: Decimal) -> int:
        extra = {"distance_m": "4"} if rule.startswith("gait") else {}
        found = outcome(rule, {"seconds": str(seconds), **extra})
        return WORST_FIRST[rule].index(str(found))

    assert rank(max(first, second)) <= rank(min(first, second))


SECONDS = st.none() | st.decimals("0.1", "100", places=2)
PARTS = st.fixed_dictionaries(dict.fromkeys(EVERY_TEST["sppb"], SECONDS))
HELD = ("side_by_side_s", "semi_tandem_s", "tandem_s")


@given(raw=PARTS, part=st.sampled_from(sorted(EVERY_TEST["sppb"])), other=SECONDS)
def test_a_worse_part_never_raises_the_battery(
    raw: dict[str, Decimal | None], part: str, other: Decimal | None
) -> None:
    best, worst = Decimal(101), Decimal(-1)
    missing = worst if part in HELD else best
    longer_is_better = part in HELD
    values = sorted(
        (raw[part], other),
        key=lambda value: missing if value is None else value,
        reverse=not longer_is_better,
    )
    worse, better = (score("sppb", raw | {part: value}).score for value in values)
    assert worse is not None
    assert better is not None
    assert worse <= better


@given(
    ages=st.integers(60, 94),
    sex=st.sampled_from([Sex.MALE, Sex.FEMALE]),
    counts=st.tuples(st.integers(0, 100), st.integers(0, 100)),
)
def test_fewer_stands_are_never_judged_better(ages: int, sex: Sex, counts: tuple[int, int]) -> None:
    def better(count: int) -> bool:
        raw = {"count": count, "arms_used": False}
        return outcome("chair_stand_30s.cdc", raw, ages, sex) == "average_or_better"

    assert better(min(counts)) <= better(max(counts))


def test_every_test_of_the_screen_has_a_norm_file() -> None:
    assert set(MeasuredTests.__struct_fields__) <= set(NORMS.norms)
