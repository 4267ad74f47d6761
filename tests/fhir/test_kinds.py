"""Does a kind fit behind a patient's id, and is it found there again?"""

import pytest

from service.fhir.kinds import FLAG_KINDS, GOAL_KINDS, TASK_KINDS, goal_kind, patient_of_kind
from tests.fhir.answers import HELPED, PATIENT_ID, SCREEN_ID, answer_to

KINDS = (*GOAL_KINDS, *FLAG_KINDS, *TASK_KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_is_read_off_the_id_that_it_makes(kind: str) -> None:
    assert patient_of_kind(f"{PATIENT_ID}-{kind}", KINDS) == (PATIENT_ID, kind)
    assert len(f"{SCREEN_ID}-patient-{kind}") <= 64


@pytest.mark.parametrize("other", [PATIENT_ID, f"{PATIENT_ID}-goal", "", "goal-stage"])
def test_another_id_is_none_of_them(other: str) -> None:
    assert patient_of_kind(other, GOAL_KINDS) is None


def test_a_plan_has_at_most_one_goal_of_a_kind() -> None:
    kinds = [goal_kind(goal) for goal in answer_to(HELPED).plan.goals]
    assert kinds == list(GOAL_KINDS)
