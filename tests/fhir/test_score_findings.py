"""Is each scored test told with value, judgement and cut point, and the right standard code?"""

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from msgspec.structs import replace

from service.domain.citation import Standing
from service.domain.measured_tests import (
    ChairStand30s,
    FiveTimesSitToStand,
    FourStageBalance,
    FunctionalReach,
    GaitSpeed,
    HandGrip,
    MeasuredTests,
    TimedUpAndGo,
)
from service.domain.score import ChangeClaim, ScoreChange
from service.fhir.codes import NOT_ABLE, NOT_PERFORMED, TEST_CATEGORY
from service.fhir.observation import frame_of
from service.fhir.resources import Observation
from service.fhir.score_findings import score_findings
from tests.fhir.answers import BARE, FULL, SITE, answer_to


def found(tests: MeasuredTests) -> dict[str, Observation]:
    answer = answer_to(replace(BARE, tests=tests))
    made = score_findings(frame_of(SITE, answer.screen), answer.tests)
    return {score.test: one for score, one in zip(answer.tests, made, strict=True)}


FOUND = found(FULL.tests)


def standard(observation: Observation) -> list[str]:
    return [one.code for one in observation.code.coding[1:]]


def test_every_test_done_is_told() -> None:
    assert set(FOUND) == set(MeasuredTests.__struct_fields__) == set(TEST_CATEGORY)


def test_the_score_keeps_its_digits_and_its_unit() -> None:
    told = FOUND["timed_up_and_go"].value_quantity
    assert told is not None
    assert (str(told.value), told.code) == ("14.20", "s")
    assert standard(FOUND["timed_up_and_go"]) == ["89423-8"]


def test_the_judgement_is_an_interpretation_and_the_cut_point_a_range() -> None:
    made = FOUND["timed_up_and_go"]
    *codes, side = [one.coding[0].code for one in made.interpretation]
    assert "timed_up_and_go.cdc.at_risk" in codes
    assert len(made.reference_range) == len(codes)
    assert side == "H"
    assert any("12" in one.text and "cdc_steadi" in one.text for one in made.reference_range)
    assert all(note.text.endswith(")") for note in made.note)


@pytest.mark.parametrize(
    ("done", "side"),
    [
        (MeasuredTests(timed_up_and_go=TimedUpAndGo(seconds=Decimal("11.9"))), None),
        (MeasuredTests(timed_up_and_go=TimedUpAndGo(seconds=Decimal(12))), "H"),
        (MeasuredTests(functional_reach=FunctionalReach(reach_cm=Decimal("25.3"))), "L"),
        (MeasuredTests(gait_speed=GaitSpeed(distance_m=Decimal(4), seconds=Decimal(10))), "L"),
        (MeasuredTests(five_times_sit_to_stand=FiveTimesSitToStand(seconds=None)), None),
    ],
)
def test_a_score_is_low_or_high_only_where_it_lies_past_a_cut_point(
    done: MeasuredTests, side: str | None
) -> None:
    (made,) = found(done).values()
    sides = [
        one.coding[0].code
        for one in made.interpretation
        if one.coding[0].system.endswith("v3-ObservationInterpretation")
    ]
    assert sides == ([side] if side else [])


def ends(tests: MeasuredTests) -> list[tuple[str | None, str | None, str]]:
    """The numbers of each range, and the cut point in words."""
    (made,) = found(tests).values()
    return [
        (
            None if one.low is None else f"{one.low.value} {one.low.code}",
            None if one.high is None else f"{one.high.value} {one.high.code}",
            one.text.removeprefix("Cut point ").partition(" (")[0],
        )
        for one in made.reference_range
    ]


def test_a_range_has_a_number_only_where_it_begins_or_ends_with_the_cut_point() -> None:
    reach = MeasuredTests(functional_reach=FunctionalReach(reach_cm=Decimal("25.3")))
    assert ends(reach) == [("25.4 cm", None, "< 25.4 cm"), (None, None, "≤ 15.24 cm")]
    stand = MeasuredTests(five_times_sit_to_stand=FiveTimesSitToStand(seconds=Decimal("14.9")))
    assert ends(stand) == [(None, "15 s", "> 15 s")]
    walk = MeasuredTests(timed_up_and_go=TimedUpAndGo(seconds=Decimal("11.9")))
    assert [(low, high) for low, high, _ in ends(walk)] == [(None, None)] * len(ends(walk))


def test_several_cut_points_of_one_rule_are_words_alone_and_those_of_a_part_are_told_there() -> (
    None
):
    paced = ends(MeasuredTests(gait_speed=GaitSpeed(distance_m=Decimal(4), seconds=Decimal(10))))
    assert (None, None, "< 0.4; ≤ 0.8 m/s") in paced
    assert ("1.0 m/s", None, "< 1.0 m/s") in paced
    tandem = FourStageBalance(
        side_by_side_s=Decimal(10), semi_tandem_s=Decimal(10), tandem_s=Decimal(3)
    )
    (made,) = found(MeasuredTests(four_stage_balance=tandem)).values()
    assert made.reference_range == ()
    ranges = {one.code.coding[0].code: one.reference_range for one in made.component}
    (held,) = ranges.pop("four_stage_balance.tandem_s")
    assert held.low is not None
    assert (held.low.value, held.low.code) == (10, "s")
    assert set(ranges.values()) == {()}


def test_what_was_sent_without_any_value_was_not_performed() -> None:
    (made,) = found(MeasuredTests(hand_grip=HandGrip())).values()
    assert (made.data_absent_reason, made.component) == (NOT_PERFORMED, ())


def test_a_cut_point_that_the_rules_no_longer_have_is_told_in_words_alone() -> None:
    answer = answer_to(
        replace(BARE, tests=MeasuredTests(functional_reach=FunctionalReach(reach_cm=Decimal(20))))
    )
    (score,) = answer.tests
    older = replace(score.judgements[0], cut_point="< 25 cm")
    changed = replace(score, judgements=(older,))
    (made,) = score_findings(frame_of(SITE, answer.screen), (changed,))
    assert (made.reference_range[0].low, made.reference_range[0].high) == (None, None)
    assert "< 25 cm" in made.reference_range[0].text


def test_what_is_judged_by_a_part_is_low_there_and_not_as_a_score() -> None:
    tandem = FourStageBalance(
        side_by_side_s=Decimal(10), semi_tandem_s=Decimal(10), tandem_s=Decimal(3)
    )
    (made,) = found(MeasuredTests(four_stage_balance=tandem)).values()
    assert [one.coding[0].code for one in made.interpretation] == ["four_stage_balance.cdc.at_risk"]
    sides = [[side.coding[0].code for side in one.interpretation] for one in made.component]
    assert sides == [[], [], ["L"]]


def test_no_norm_for_this_person_is_a_note_and_no_interpretation() -> None:
    made = found(MeasuredTests(chair_stand_30s=ChairStand30s(count=9, arms_used=False)))
    stand = made["chair_stand_30s"]
    assert stand.interpretation == ()
    assert "No norm for this person" in stand.note[0].text


def test_not_able_to_finish_gives_no_value_and_still_the_judgement() -> None:
    made = found(MeasuredTests(five_times_sit_to_stand=FiveTimesSitToStand(seconds=None)))
    stand = made["five_times_sit_to_stand"]
    assert stand.data_absent_reason == NOT_ABLE
    assert stand.value_quantity is None
    assert [one.coding[0].code for one in stand.interpretation] == [
        "five_times_sit_to_stand.ewgsop2.low"
    ]


@pytest.mark.parametrize(("arms_used", "codes"), [(False, ["66247-8"]), (True, [])])
def test_the_code_of_the_chair_stand_is_for_stands_without_arms_alone(
    *, arms_used: bool, codes: list[str]
) -> None:
    done = ChairStand30s(count=9, arms_used=arms_used)
    made = found(MeasuredTests(chair_stand_30s=done))["chair_stand_30s"]
    assert standard(made) == codes


def test_stands_with_the_arms_are_counted_under_their_own_code_and_score_zero() -> None:
    done = ChairStand30s(count=9, arms_used=True)
    made = found(MeasuredTests(chair_stand_30s=done))["chair_stand_30s"]
    (part,) = made.component
    assert made.value_quantity is not None
    assert made.value_quantity.value == 0
    assert part.value_quantity is not None
    assert part.value_quantity.value == 9
    assert [one.code for one in part.code.coding] == ["chair_stand_30s.count_with_arms", "93125-3"]


@pytest.mark.parametrize(("metres", "codes"), [("4.0", ["83172-7"]), ("6", [])])
def test_the_code_of_gait_speed_is_for_four_metres_alone(metres: str, codes: list[str]) -> None:
    walked = GaitSpeed(distance_m=Decimal(metres), seconds=Decimal(5))
    assert standard(found(MeasuredTests(gait_speed=walked))["gait_speed"]) == codes


def test_each_hand_has_its_own_standard_code() -> None:
    assert [one.code.text for one in FOUND["hand_grip"].component] == ["Left", "Right"]
    codes = [one.code.coding[-1].code for one in FOUND["hand_grip"].component]
    assert codes == ["83173-5", "83174-3"]


def test_a_change_is_told_with_what_it_may_be_called_and_never_without_a_source() -> None:
    claims = (
        ChangeClaim(
            "r.real", "minimal_detectable", Decimal("3.5"), "real", "s", Standing.PUBLISHED
        ),
        ChangeClaim("r.big", "substantial", Decimal(9), None, "s", Standing.RECALLED),
    )
    since = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
    change = ScoreChange(since, Decimal("20.0"), Decimal("-5.80"), claims, "Same chair.")
    answer = answer_to(FULL)
    (test,) = [replace(one, change=change) for one in answer.tests if one.test == "timed_up_and_go"]
    (made,) = score_findings(frame_of(SITE, answer.screen), (test,))
    assert [note.text for note in made.note][-4:] == [
        "Since 2026-03-01 (20.0 s): -5.80 s.",
        "Minimal detectable change of 3.5 s: real change (s, published)",
        "Substantial change of 9 s: not reached (s, recalled)",
        "Same chair.",
    ]
