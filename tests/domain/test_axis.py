"""Do the grades run from worst to best, with what is not known below them all?"""

import pytest

from service.domain.axis import GRADES, RANK, UNKNOWN, Axis, Number, at_least

# As the tables of capability list them, low to high; unknown ranks below every one.
LISTED = {
    "clearance": "withhold review clear",
    "upright": "withhold review clear",
    "cooperation": "none prompted full",
    "sitting": "none supported unsupported",
    "lean": "none helped able",
    "arms": "none one both",
    "knee_stronger": "0 1 2 3 4 5",
    "knee_weaker": "0 1 2 3 4 5",
    "weight_bearing": "none partial full",
    "rise": "none lifted steadied with_hands without_hands",
    "shift": "none helped able",
    "heel": "none helped able",
    "step": "none helped able",
}


def test_every_axis_has_the_grades_it_was_given_worst_first() -> None:
    assert {str(axis): " ".join(grades[1:]) for axis, grades in GRADES.items()} == LISTED
    assert set(GRADES) == set(Axis)


def test_unknown_is_the_lowest_grade_of_every_axis() -> None:
    assert {grades[0] for grades in GRADES.values()} == {UNKNOWN}
    assert all(UNKNOWN not in grades[1:] for grades in GRADES.values())


def test_no_axis_has_a_grade_twice() -> None:
    assert all(len(grades) == len(set(grades)) for grades in GRADES.values())


@pytest.mark.parametrize("axis", Axis)
def test_at_least_is_a_comparison_of_positions(axis: Axis) -> None:
    grades = GRADES[axis]
    for low, seen in enumerate(grades):
        assert RANK[axis][seen] == low
        assert [at_least(axis, seen, required) for required in grades] == [
            position <= low for position in range(len(grades))
        ]


def test_every_number_names_its_unit() -> None:
    assert {number.rsplit("_", 1)[-1] for number in Number} <= {"kg", "s"}
