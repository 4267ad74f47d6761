"""Is every axis told with what set its grade, and unknown told as unknown?"""

from decimal import Decimal

from msgspec.structs import replace

from service.domain.axis import Axis, Number
from service.domain.profile import AxisGrade, NumberSeen
from service.fhir.axis_findings import axis_finding, axis_findings
from service.fhir.codes import NOT_KNOWN
from service.fhir.observation import frame_of
from service.fhir.resources import Observation
from tests.fhir.answers import BARE, BOOK, FULL, SCREEN_ID, SITE, answer_to

ANSWER = answer_to(FULL)
FRAME = frame_of(SITE, ANSWER.screen)


def by_code(found: list[Observation]) -> dict[str, Observation]:
    return {one.code.coding[0].code: one for one in found}


FOUND = by_code(axis_findings(FRAME, ANSWER.profile))


def test_every_axis_is_told_once() -> None:
    assert set(FOUND) - {Number.HELPER_LIFT_KG.value} == {axis.value for axis in Axis}


def test_a_grade_is_told_in_the_rule_books_words() -> None:
    told = FOUND["rise"].value_codeable_concept
    grade = ANSWER.profile.grade(Axis.RISE)
    assert told is not None
    assert told.coding[0].code == grade
    assert told.coding[0].system.endswith("/CodeSystem/grade-rise")
    assert told.text == BOOK.axes[Axis.RISE].grades[grade]


def test_what_is_not_known_has_no_value() -> None:
    made = by_code(axis_findings(FRAME, answer_to(BARE).profile))
    assert made["rise"].data_absent_reason == NOT_KNOWN
    assert made["rise"].value_codeable_concept is None


def test_the_note_says_which_findings_set_the_grade_and_by_which_source() -> None:
    (note,) = FOUND["rise"].note
    assert note.text.startswith("Set by /stages/rise/outcome = achieved_with_help (rule rise, ")
    assert FOUND["rise"].text is not None
    assert "/stages/rise/outcome" in FOUND["rise"].text.div


def test_a_grade_rests_on_the_response_and_on_the_observations_that_set_it() -> None:
    told = {"stage-rise", "ready-rass", "stage-timed-stand"}
    made = by_code(axis_findings(FRAME, ANSWER.profile, told))
    rests_on = [one.reference for one in made["rise"].derived_from]
    assert rests_on == [
        f"QuestionnaireResponse/{SCREEN_ID}",
        f"Observation/{SCREEN_ID}-stage-rise",
    ]


def test_no_observation_is_named_that_does_not_go_out() -> None:
    assert len(FOUND["rise"].derived_from) == 1


def test_a_grade_that_nothing_set_has_no_note() -> None:
    axes = {**ANSWER.profile.axes, Axis.RISE: AxisGrade("none")}
    made = by_code(axis_findings(FRAME, replace(ANSWER.profile, axes=axes)))
    assert made["rise"].note == ()


def test_the_load_on_a_helper_is_told_in_kilograms_where_it_is_known() -> None:
    lift = FOUND["helper_lift_kg"].value_quantity
    assert lift is not None
    assert (lift.value, lift.code) == (Decimal("8.50"), "kg")
    numbers = {**ANSWER.profile.numbers, Number.HELPER_LIFT_KG: NumberSeen(None)}
    profile = replace(ANSWER.profile, numbers=numbers)
    assert "helper_lift_kg" not in by_code(axis_findings(FRAME, profile))


def test_each_axis_fits_into_an_id() -> None:
    assert [axis_finding(axis) for axis in Axis][-1] == "axis-step"
