"""Does each stage become one Observation that says what was seen, side by side?"""

from decimal import Decimal

from service.domain.stages import Stage
from service.fhir.codes import NOT_PERFORMED
from service.fhir.observation import frame_of
from service.fhir.resources import Component, Observation
from service.fhir.stage_findings import stage_findings
from service.fhir.structs import CodeableConcept
from tests.fhir.answers import BARE, FULL, SITE, answer_to

FOUND = dict(zip(Stage, stage_findings(frame_of(SITE, answer_to(FULL).screen)), strict=True))
NOTHING = stage_findings(frame_of(SITE, answer_to(BARE).screen))


def component(observation: Observation, code: str) -> Component:
    (found,) = [one for one in observation.component if one.code.coding[0].code == code]
    return found


def code_of(concept: CodeableConcept | None) -> str:
    assert concept is not None
    return concept.coding[0].code


def test_every_stage_is_told_in_its_order() -> None:
    assert [code_of(one.code) for one in FOUND.values()] == [stage.value for stage in Stage]


def test_a_stage_not_attempted_gives_the_reason_and_no_value() -> None:
    assert {one.data_absent_reason for one in NOTHING} == {NOT_PERFORMED}
    assert {one.component for one in NOTHING} == {()}


def test_a_stage_without_sides_has_its_outcome_as_value() -> None:
    sitting = FOUND[Stage.SITTING_BALANCE]
    assert code_of(sitting.value_codeable_concept) == "achieved_with_help"
    assert code_of(component(sitting, "help").value_codeable_concept) == "steadying"
    held = component(sitting, "time_held").value_quantity
    assert held is not None
    assert (held.value, held.code) == (Decimal(30), "s")


def test_a_lift_and_the_hands_are_told_with_the_rise() -> None:
    rise = FOUND[Stage.RISE]
    lift = component(rise, "lift_held").value_quantity
    assert lift is not None
    assert str(lift.value) == "8.50"
    share = component(rise, "share_held").value_quantity
    assert share is not None
    assert (share.value, share.code) == (5, "%")
    assert component(rise, "hands_used").value_boolean is True


def test_sides_are_components_and_the_stage_has_no_value_of_its_own() -> None:
    shift = FOUND[Stage.WEIGHT_SHIFT]
    assert shift.value_codeable_concept is None
    assert shift.data_absent_reason is None
    assert code_of(component(shift, "left").value_codeable_concept) == "achieved"
    assert code_of(component(shift, "right").value_codeable_concept) == "achieved_with_help"
    assert code_of(component(shift, "right_help").value_codeable_concept) == "lifting"
    assert component(shift, "right_lift_held").value_quantity is not None


def test_strength_is_a_grade_for_each_knee() -> None:
    knees = FOUND[Stage.KNEE_EXTENSION]
    assert component(knees, "left").value_integer == 4
    assert component(knees, "right").value_integer == 3


def test_the_timed_stand_is_seconds_and_why_it_ended() -> None:
    stand = FOUND[Stage.TIMED_STAND]
    assert stand.value_quantity is not None
    assert (str(stand.value_quantity.value), stand.value_quantity.code) == ("48.20", "s")
    assert code_of(component(stand, "ended_by").value_codeable_concept) == "fatigue"


def test_a_sign_is_told_with_the_stage_at_which_it_was_seen() -> None:
    seen = component(FOUND[Stage.WEIGHT_SHIFT], "sign_seen").value_codeable_concept
    assert code_of(seen) == "loss_of_balance"
    assert "Sign seen: Loss of balance." in str(FOUND[Stage.WEIGHT_SHIFT].text)


def test_the_narrative_says_each_side() -> None:
    text = FOUND[Stage.HEEL_RAISE].text
    assert text is not None
    assert "Left: Not achieved. Right: Achieved." in text.div
