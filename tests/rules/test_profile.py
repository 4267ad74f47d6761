"""Is every axis, number and condition of a screen in its profile, and always the same?"""

import pytest
from hypothesis import given, settings

from service.domain.axis import GRADES, UNKNOWN, Axis, Number
from service.domain.citation import Standing
from service.domain.condition import Condition
from service.domain.context import Context
from service.domain.orders import Orders
from service.domain.readiness import Readiness
from service.domain.screen import Screen
from service.domain.stages import Stages
from service.domain.subject import Subject
from service.rules.load import load_book
from service.rules.profile import profile_of
from tests.rules.screens import PATIENT, screen
from tests.strategies import screens

BOOK = load_book()
BEST = {axis: grades[-1] for axis, grades in GRADES.items()}


def test_an_able_adult_is_at_the_best_grade_of_every_axis() -> None:
    seen = profile_of(BOOK, screen(), ())
    assert {axis: seen.grade(axis) for axis in Axis} == BEST


def test_of_a_screen_that_says_nothing_nothing_is_known() -> None:
    nothing = Screen(
        patient=Subject(identifier=PATIENT.identifier, age_years=70),
        observed_at=screen().observed_at,
        orders=Orders(precautions=[]),
        readiness=Readiness(),
        stages=Stages(),
        context=Context(),
    )
    seen = profile_of(BOOK, nothing, ())
    assert {seen.grade(axis) for axis in Axis} == {UNKNOWN}
    assert {number.value for number in seen.numbers.values()} == {None}
    assert {Condition.MASS_UNKNOWN, Condition.FALL_IN_YEAR} <= set(seen.conditions)


@settings(max_examples=50)
@given(screens())
def test_a_profile_is_total_founded_and_the_same_each_time(drawn: Screen) -> None:
    seen = profile_of(BOOK, drawn, ())
    assert seen == profile_of(BOOK, drawn, ())
    assert (set(seen.axes), set(seen.numbers)) == (set(Axis), set(Number))
    assert all(seen.grade(axis) in GRADES[axis] for axis in Axis)
    told = [finding for grade in seen.axes.values() for finding in grade.set_by]
    told += [finding for number in seen.numbers.values() for finding in number.set_by]
    told += [finding for places in seen.conditions.values() for finding in places]
    assert all(finding.source in BOOK.sources for finding in told)
    assert all(seen.conditions.values())


@pytest.mark.parametrize("axis", Axis)
def test_every_grade_names_a_place_it_was_read_from(axis: Axis) -> None:
    found = profile_of(BOOK, screen(), ()).axes[axis].set_by
    assert found
    assert {finding.standing for finding in found} <= set(Standing)
