"""Is the range of a score that of this person, with the numbers of their norm and none besides?"""

from datetime import timedelta
from decimal import Decimal

import pytest
from msgspec.structs import replace

from service.domain.measured_tests import ChairStand30s, FourStageBalance, HandGrip, MeasuredTests
from service.domain.score import TestScore
from service.domain.screen import Screen
from service.domain.subject import Sex
from service.fhir.resources import ReferenceRange
from service.fhir.score_ranges import judged, ranges, sides
from service.rules.norm_files import Cut
from service.rules.norms import person_of, score_tests
from tests.fhir.answers import BARE, BOOK, SITE

STAND = MeasuredTests(chair_stand_30s=ChairStand30s(count=9, arms_used=False))
GRIP = MeasuredTests(hand_grip=HandGrip(left_kg=Decimal(20)))


def screen_of(done: MeasuredTests, sex: Sex | None, age: int) -> Screen:
    person = replace(BARE.patient, sex=sex, age_years=age)
    return replace(BARE, tests=done, patient=person)


def scored(screen: Screen) -> TestScore:
    (score,) = score_tests(BOOK, screen)
    return score


def told(done: MeasuredTests, sex: Sex | None, age: int) -> tuple[ReferenceRange, ...]:
    screen = screen_of(done, sex, age)
    return ranges(judged(SITE, scored(screen)), person_of(screen))


@pytest.mark.parametrize(
    ("sex", "age", "low", "people", "ages"),
    [
        (Sex.FEMALE, 75, 10, "women of 75 to 79 years", (75, 79)),
        (Sex.FEMALE, 94, 4, "women of 90 to 94 years", (90, 94)),
        (Sex.MALE, 64, 14, "men of 60 to 64 years", (60, 64)),
        (Sex.MALE, 70, 12, "men of 70 to 74 years", (70, 74)),
    ],
)
def test_a_norm_by_sex_and_age_says_both(
    sex: Sex, age: int, low: int, people: str, ages: tuple[int, int]
) -> None:
    (made,) = told(STAND, sex, age)
    assert made.low is not None
    assert (made.low.value, made.low.code, made.high) == (low, "{stands}", None)
    assert [one.coding[0].code for one in made.applies_to] == [sex.value]
    assert made.age is not None
    assert made.age.low is not None
    assert made.age.high is not None
    assert (made.age.low.value, made.age.high.value, made.age.high.code) == (*ages, "a")
    assert made.text == f"Cut point < {low} stands for {people} (cdc_steadi, published)"


def test_a_norm_by_sex_alone_says_no_age() -> None:
    (made,) = told(GRIP, Sex.MALE, 40)
    assert made.text == "Cut point < 27 kg for men (ewgsop2, published)"
    assert made.age is None
    assert made.low is not None


@pytest.mark.parametrize(("sex", "age"), [(None, 75), (Sex.OTHER, 75), (Sex.FEMALE, 59)])
def test_where_no_norm_stands_for_the_person_there_is_no_range(sex: Sex | None, age: int) -> None:
    assert told(STAND, sex, age) == ()


@pytest.mark.parametrize(
    ("ages", "said"),
    [
        ((60, None), " for people of 60 years or more"),
        ((None, 64), " for people of 64 years or less"),
        ((0, 64), " for people of 0 to 64 years"),
    ],
)
def test_ages_may_be_open_at_one_end(ages: tuple[int | None, int | None], said: str) -> None:
    norm = BOOK.norms["chair_stand_30s"]
    begin, end = ages
    cut = Cut(holds="<", value=Decimal(12), outcome="below_average", age_from=begin, age_to=end)
    rule = replace(norm.rules[0], cuts=(cut,))
    book = replace(BOOK, norms={**BOOK.norms, "chair_stand_30s": replace(norm, rules=(rule,))})
    screen = screen_of(STAND, None, 62)
    (score,) = score_tests(book, screen)
    (made,) = ranges(judged(replace(SITE, book=book), score), person_of(screen))
    assert f"stands{said} (" in made.text
    assert made.age is not None
    assert [one and one.value for one in (made.age.low, made.age.high)] == list(ages)


def test_a_part_without_a_value_has_its_range_in_words_alone_and_no_side() -> None:
    done = MeasuredTests(four_stage_balance=FourStageBalance(side_by_side_s=Decimal(3)))
    screen = screen_of(done, None, 75)
    (made,) = ranges(judged(SITE, scored(screen)), person_of(screen))
    assert (made.low, made.text) == (None, "Cut point < 10 s (cdc_steadi, published)")
    assert sides(judged(SITE, scored(screen))) == ()


def test_a_part_with_a_value_has_them_and_the_score_has_none() -> None:
    held = FourStageBalance(
        side_by_side_s=Decimal(10), semi_tandem_s=Decimal(10), tandem_s=Decimal(9)
    )
    screen = screen_of(MeasuredTests(four_stage_balance=held), None, 75)
    told, person = judged(SITE, scored(screen)), person_of(screen)
    assert (ranges(told, person), sides(told)) == ((), ())
    (made,) = ranges(told, person, "tandem_s")
    assert made.low is not None
    assert [one.coding[0].code for one in sides(told, "tandem_s")] == ["L"]


def test_a_rule_that_is_gone_leaves_the_words() -> None:
    screen = screen_of(GRIP, Sex.MALE, 40)
    score = scored(screen)
    older = replace(score.judgements[0], rule="hand_grip.older")
    (made,) = ranges(judged(SITE, replace(score, judgements=(older,))), person_of(screen))
    assert (made.low, made.applies_to) == (None, ())
    assert made.text == "Cut point < 27 kg (ewgsop2, published)"
    unknown = replace(score, test="another_test", judgements=(older,))
    assert sides(judged(SITE, unknown)) == ()


def test_the_age_is_that_of_the_day_of_the_screen() -> None:
    born = BARE.observed_at.date() - timedelta(days=365 * 75 + 17)
    person = replace(BARE.patient, age_years=None, birth_date=born)
    assert person_of(replace(BARE, patient=person)).age == 74
